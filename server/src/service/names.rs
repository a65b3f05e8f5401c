//! Names that people give themselves, made safe to show anywhere.

use fieldpost_rules::sanitize::normal;
use unicode_segmentation::UnicodeSegmentation;

use super::{ServiceError, ServiceResult};

const LONGEST: usize = 60;
/// Bytes of a character at the most: a grapheme may pile up marks without end.
const BYTES_EACH: usize = 8;

/// Characters of what somebody writes to the umpire, or the umpire rules.
const LONGEST_TEXT: usize = 1000;

fn bad(why: String) -> ServiceError {
    ServiceError::BadName {
        why,
        pointer: "/player",
    }
}

/// The name in NFC with its ends trimmed.
pub(super) fn fit(name: &str) -> ServiceResult<String> {
    let name = normal(name);
    if name.is_empty() {
        return Err(bad("A name is needed.".to_owned()));
    }
    shown_safely(&name, "name", LONGEST).map_err(bad)?;
    Ok(name)
}

/// What somebody calls a device, in NFC with its ends trimmed; it may be empty.
pub(super) fn fit_device(name: &str) -> ServiceResult<String> {
    let name = normal(name);
    let bad = |why| ServiceError::BadName {
        why,
        pointer: "/device",
    };
    shown_safely(&name, "device's name", LONGEST).map_err(bad)?;
    Ok(name)
}

/// A paragraph that people write, in NFC with its ends trimmed.
pub(super) fn fit_text(text: &str) -> ServiceResult<String> {
    let text = normal(text);
    if text.is_empty() {
        return Err(ServiceError::Unfit(
            "Say in a sentence what it is about.".to_owned(),
        ));
    }
    shown_safely(&text, "text", LONGEST_TEXT).map_err(ServiceError::Unfit)?;
    Ok(text)
}

fn shown_safely(text: &str, what: &str, longest: usize) -> Result<(), String> {
    let length = text.graphemes(true).count();
    if length > longest || text.len() > longest * BYTES_EACH {
        return Err(format!(
            "The {what} has {length} characters; {longest} is the most."
        ));
    }
    if let Some(bad) = text.chars().find(|c| c.is_control() || is_unsafe(*c)) {
        return Err(format!(
            "The {what} has a character that cannot be shown safely (U+{:04X}); leave it out.",
            u32::from(bad)
        ));
    }
    Ok(())
}

/// Line and paragraph separators, marks that turn the reading direction, and what is invisible.
fn is_unsafe(c: char) -> bool {
    matches!(c,
        '\u{2028}' | '\u{2029}'
        | '\u{061C}' | '\u{200B}' | '\u{200E}' | '\u{200F}'
        | '\u{202A}'..='\u{202E}' | '\u{2060}'..='\u{2064}' | '\u{2066}'..='\u{206F}'
        | '\u{FEFF}' | '\u{FFF9}'..='\u{FFFB}' | '\u{E0000}'..='\u{E007F}')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_come_out_composed_and_trimmed() {
        assert_eq!(fit("  Zoe\u{308} ").expect("good"), "Zoë");
        assert_eq!(
            fit("<b>Ann & \"Bo\"</b>").expect("markup is text"),
            "<b>Ann & \"Bo\"</b>"
        );
    }

    #[test]
    fn names_that_deceive_are_refused() {
        for name in [
            "",
            "   ",
            "a\u{1b}[2J",
            "a\nb",
            "a\u{202e}b",
            "a\u{2066}b",
            "\u{200b}a",
        ] {
            assert!(fit(name).is_err(), "{name:?}");
        }
        assert!(fit(&"x".repeat(60)).is_ok());
        assert!(fit(&"x".repeat(61)).is_err());
        assert!(fit(&format!("a{}", "\u{301}".repeat(2000))).is_err());
    }
}
