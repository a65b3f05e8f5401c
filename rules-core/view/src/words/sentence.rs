//! What people wrote, told as sentences.

use fieldpost_rules::sanitize::plain;

/// What a person wrote, ended as a sentence: with its own mark if it has one.
pub(super) fn sentence(text: &str) -> String {
    let text = plain(text);
    let text = text.trim_end();
    if text.ends_with(['?', '!', '…']) {
        return text.to_owned();
    }
    format!("{}.", text.trim_end_matches('.'))
}

#[cfg(test)]
mod tests {
    use super::sentence;

    #[test]
    fn a_sentence_ends_once() {
        for (written, told) in [
            ("Was that so?", "Was that so?"),
            ("Set back!", "Set back!"),
            ("A slip of the ruler", "A slip of the ruler."),
            ("A slip of the ruler. ", "A slip of the ruler."),
            ("", "."),
        ] {
            assert_eq!(sentence(written), told);
        }
    }
}
