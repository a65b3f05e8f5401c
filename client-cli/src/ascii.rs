//! Text for terminals that have no letters and signs but those of ASCII.

use unicode_normalization::UnicodeNormalization;

/// The same text in ASCII: quotation marks, dashes, fractions and signs as they are typed, letters without their accents.
/// What has no such form is a question mark.
#[must_use]
pub fn to_ascii(text: &str) -> String {
    let mut plain = String::with_capacity(text.len());
    for letter in text.chars() {
        if letter.is_ascii() {
            plain.push(letter);
        } else if let Some(words) = typed(letter) {
            if words.starts_with(|c: char| c.is_ascii_digit())
                && plain.ends_with(|c: char| c.is_ascii_digit())
            {
                plain.push(' ');
            }
            plain.push_str(words);
        } else {
            let mut bare = letter.nfkd().filter(char::is_ascii).peekable();
            if bare.peek().is_none() {
                plain.push('?');
            }
            plain.extend(bare);
        }
    }
    plain
}

/// How a sign is typed.
fn typed(sign: char) -> Option<&'static str> {
    Some(match sign {
        '“' | '”' | '„' | '″' | '«' | '»' => "\"",
        '‘' | '’' | '‚' | '′' => "'",
        '–' | '—' | '−' | '─' | '‐' | '‑' => "-",
        '│' | '┃' => "|",
        '┤' | '├' | '┼' | '┬' | '┴' | '┌' | '┐' | '└' | '┘' => "+",
        '…' => "...",
        '×' => "x",
        '÷' => "/",
        '½' => "1/2",
        '¼' => "1/4",
        '¾' => "3/4",
        '°' => " deg",
        '±' => "+/-",
        '≤' => "<=",
        '≥' => ">=",
        '≠' => "<>",
        '→' => "->",
        '←' => "<-",
        '·' | '•' => "*",
        '²' => "^2",
        '█' | '▓' | '▉' | '▊' | '▋' | '▌' => "#",
        '▒' | '░' | '▍' | '▎' | '▏' => ".",
        '⚑' => "$",
        '\u{a0}' => " ",
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn signs_are_typed_and_letters_lose_their_accents() {
        for (text, plain) in [
            ("“3½″” – ×", "\"3 1/2\"\" - x"),
            ("Éclaireurs à Fère", "Eclaireurs a Fere"),
            ("騎兵 ≤ 5°", "?? <= 5 deg"),
            ("ﬁrst, 10½", "first, 10 1/2"),
        ] {
            assert_eq!(to_ascii(text), plain);
        }
    }
}
