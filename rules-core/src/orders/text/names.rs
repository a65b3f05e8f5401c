//! Comparing what was typed with a name: words, figures, ordinals, beginnings of words.

/// A mark's letters and the number it ends in.
pub(super) fn row_and_number(mark: &str) -> Option<(&str, u32)> {
    let row = mark.trim_end_matches(|c: char| c.is_ascii_digit());
    Some((row, mark[row.len()..].parse().ok()?))
}

const ORDINALS: [&str; 12] = [
    "first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth",
    "eleventh", "twelfth",
];

/// Words of a name where `second` and `2nd` are `2`.
pub(super) fn with_ordinals(atoms: Vec<String>) -> Vec<String> {
    let mut found: Vec<String> = Vec::new();
    for atom in atoms {
        let is_ending = ["st", "nd", "rd", "th"].contains(&atom.as_str());
        let after_figure = found
            .last()
            .is_some_and(|last| last.starts_with(|c: char| c.is_ascii_digit()));
        if is_ending && after_figure {
            continue;
        }
        let number = ORDINALS.iter().position(|ordinal| *ordinal == atom);
        found.push(number.map_or(atom, |place| (place + 1).to_string()));
    }
    found
}

/// Runs of letters and runs of digits, in small letters, a plural's `s` left off.
pub(super) fn atoms(text: &str) -> Vec<String> {
    let mut atoms: Vec<String> = Vec::new();
    let mut before = None;
    for c in text.chars() {
        if matches!(c, '\'' | '’') {
            continue;
        }
        let kind = if c.is_ascii_digit() {
            Some(true)
        } else if c.is_alphanumeric() {
            Some(false)
        } else {
            None
        };
        if kind.is_some() {
            if kind != before {
                atoms.push(String::new());
            }
            if let Some(atom) = atoms.last_mut() {
                atom.extend(c.to_lowercase());
            }
        }
        before = kind;
    }
    for atom in &mut atoms {
        if atom.chars().count() > 3 && atom.ends_with('s') && !atom.ends_with("ss") {
            atom.pop();
        }
    }
    atoms
}

/// Atoms run together, figures kept apart from figures.
pub(super) fn joined(atoms: impl IntoIterator<Item = impl AsRef<str>>) -> String {
    let is_figure = |c: Option<char>| c.is_some_and(|c| c.is_ascii_digit());
    atoms.into_iter().fold(String::new(), |mut all, atom| {
        let atom = atom.as_ref();
        if is_figure(all.chars().last()) && is_figure(atom.chars().next()) {
            all.push('.');
        }
        all.push_str(atom);
        all
    })
}

/// Whether each atom of a mark begins an atom of the name, in order; figures must be whole.
pub(super) fn shortens(mark: &[String], name: &[String]) -> bool {
    let mut left = name.iter();
    mark.iter().all(|part| {
        let figures = part.starts_with(|c: char| c.is_ascii_digit());
        left.any(|atom| {
            if figures {
                atom == part
            } else {
                atom.starts_with(part.as_str())
            }
        })
    })
}
