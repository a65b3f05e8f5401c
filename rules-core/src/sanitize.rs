//! Names as people gave them, made harmless: for a terminal and for XML.

use unicode_normalization::UnicodeNormalization;

/// A name without anything that could steer a terminal or turn the text around: control
/// characters (ESC among them), bidirectional overrides, zero-width marks and line breaks become `�`.
#[must_use]
pub fn plain(name: &str) -> String {
    name.chars()
        .map(|c| if is_harmful(c) { '\u{fffd}' } else { c })
        .collect()
}

/// What somebody wrote, in the one form in which it is kept: NFC, its ends trimmed.
#[must_use]
pub fn normal(text: &str) -> String {
    text.trim().nfc().collect()
}

/// Whether a character could steer a terminal, hide, or turn the text around.
#[must_use]
pub fn is_harmful(c: char) -> bool {
    c.is_control()
        || matches!(c,
            '\u{061c}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}'
            | '\u{2060}'..='\u{206f}' | '\u{feff}' | '\u{fff9}'..='\u{fffb}'
            | '\u{fffe}' | '\u{ffff}' | '\u{e0000}'..='\u{e007f}')
}

/// [`plain`] text as XML character data or attribute value.
#[must_use]
pub fn xml(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in plain(text).chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            c if is_xml(c) => out.push(c),
            _ => out.push('\u{fffd}'),
        }
    }
    out
}

/// The characters that XML 1.0 allows (production 2, "Char"), controls aside.
fn is_xml(c: char) -> bool {
    matches!(c, '\u{20}'..='\u{d7ff}' | '\u{e000}'..='\u{fffd}' | '\u{10000}'..='\u{10ffff}')
}

/// The first letter made a capital, for the start of a sentence.
#[must_use]
pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    match letters.next() {
        Some(first) => first.to_uppercase().chain(letters).collect(),
        None => String::new(),
    }
}

/// Things listed as in speech: "a", "a and b", "a, b and c".
#[must_use]
pub fn listed<S: AsRef<str>>(things: &[S]) -> String {
    match things {
        [] => String::new(),
        [one] => one.as_ref().to_owned(),
        [most @ .., last] => {
            let most: Vec<&str> = most.iter().map(AsRef::as_ref).collect();
            format!("{} and {}", most.join(", "), last.as_ref())
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_escape_sequence_in_a_name_steers_no_terminal() {
        assert_eq!(
            plain("\u{1b}[2JFoot\r\n"),
            "\u{fffd}[2JFoot\u{fffd}\u{fffd}"
        );
        assert_eq!(plain("toof\u{202e}"), "toof\u{fffd}");
        assert_eq!(plain("Éclaireurs 騎兵"), "Éclaireurs 騎兵");
    }

    #[test]
    fn markup_in_a_name_stays_text() {
        assert_eq!(
            xml("<script>alert('x')</script> & \"Co\"\0"),
            "&lt;script&gt;alert(&#39;x&#39;)&lt;/script&gt; &amp; &quot;Co&quot;\u{fffd}"
        );
    }

    #[test]
    fn lists_read_as_speech() {
        assert_eq!(listed(&["a"]), "a");
        assert_eq!(listed(&["a", "b", "c"]), "a, b and c");
    }
}
