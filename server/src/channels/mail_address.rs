//! E-mail addresses that mail is sent to.

use lettre::Address;

/// Bytes of the longest address (RFC 5321, section 4.5.3.1.3, without the angle brackets).
const LONGEST: usize = 254;

/// The address with its ends trimmed, if mail can be sent there.
///
/// # Errors
/// Why not, in a sentence.
pub(super) fn accept(text: &str) -> Result<String, String> {
    let text = text.trim();
    let parsed: Option<Address> = text.parse().ok();
    let Some(address) = parsed.filter(|_| text.len() <= LONGEST) else {
        return Err("This is no e-mail address such as ash@example.org.".to_owned());
    };
    // Letters, digits and the signs of an atom (RFC 5322, section 3.2.3), nothing in quotation marks.
    let is_atom = |c: char| c.is_ascii_alphanumeric() || "!#$%&'*+-/=?^_`{|}~.".contains(c);
    if !address.user().chars().all(is_atom) {
        return Err(
            "The part before @ has a character that many mail servers do not take.".to_owned(),
        );
    }
    let domain = address.domain();
    let is_name = domain.contains('.')
        && domain
            .chars()
            .all(|c| c.is_ascii_alphanumeric() || c == '-' || c == '.')
        && domain
            .rsplit('.')
            .next()
            .is_some_and(|last| !last.bytes().all(|b| b.is_ascii_digit()));
    if !is_name {
        return Err(
            "The part after @ must be a host's full name in ASCII (xn--… for others).".to_owned(),
        );
    }
    Ok(text.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn addresses_that_mail_is_sent_to() {
        for text in [
            "ash@example.org",
            " o'neil+games@mail.example.org ",
            "a.b-c_d@xn--bcher-kva.example",
        ] {
            assert_eq!(accept(text).as_deref(), Ok(text.trim()), "{text}");
        }
    }

    #[test]
    fn addresses_that_it_is_not_sent_to() {
        for text in [
            "",
            "ash",
            "ash@",
            "@example.org",
            "ash@localhost",
            "ash@[127.0.0.1]",
            "ash@127.0.0.1",
            "ash@[::1]",
            "\"a b\"@example.org",
            "ash@example.org\r\nBcc: birch@example.org",
            "ash@example.org, birch@example.org",
            "Ash <ash@example.org>",
            "ash\n@example.org",
            "ash@exa mple.org",
            "äsh@example.org",
            "ash@bücher.example",
            "ash@example.org\0",
            "ash@@example.org",
        ] {
            assert!(accept(text).is_err(), "{text:?}");
        }
        assert!(accept(&format!("{}@example.org", "a".repeat(250))).is_err());
    }
}
