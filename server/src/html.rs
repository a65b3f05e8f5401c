//! Text in HTML.

/// Text between tags or in an attribute's quotation marks.
pub(crate) fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            c => out.push(c),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn markup_is_text() {
        assert_eq!(
            escaped("<b a='1'>&\"</b>"),
            "&lt;b a=&#39;1&#39;&gt;&amp;&quot;&lt;/b&gt;"
        );
    }
}
