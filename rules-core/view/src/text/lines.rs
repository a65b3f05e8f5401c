//! Lines filled to a width.

/// Parts on as few lines as they fit on, each line ended, the gap between those that share one. A part that is longer
/// than the width has a line to itself.
pub(super) fn filled<S: AsRef<str>>(
    parts: impl IntoIterator<Item = S>,
    gap: &str,
    width: usize,
) -> String {
    let mut out = String::new();
    let mut used = 0;
    for part in parts {
        let part = part.as_ref();
        let columns = part.chars().count();
        let with_gap = used + gap.chars().count() + columns;
        if used > 0 && with_gap <= width {
            out.push_str(gap);
            used = with_gap;
        } else {
            if used > 0 {
                out.push('\n');
            }
            used = columns;
        }
        out.push_str(part);
    }
    out.push('\n');
    out
}

#[cfg(test)]
mod tests {
    use super::filled;

    #[test]
    fn lines_are_as_long_as_they_may_be_and_nothing_is_cut() {
        assert_eq!(filled(["ab", "c", "def"], " ", 4), "ab c\ndef\n");
        assert_eq!(filled(["abcdef", "g"], "  ", 4), "abcdef\ng\n");
        assert_eq!(filled(["a", "b"], "   ", 5), "a   b\n");
    }
}
