//! The known name that a mistyped one was meant to be.

/// Longest word a near name is sought for, in bytes.
const LONGEST: usize = 80;
/// Least likeness of a suggestion: 1 is the same word, 0 shares nothing. Common practice, no source.
const LEAST_LIKENESS: f64 = 0.6;

/// The candidate that a word most resembles, if any is near enough.
pub(super) fn nearest<'c>(
    word: &str,
    candidates: impl IntoIterator<Item = &'c str>,
) -> Option<&'c str> {
    if word.len() > LONGEST {
        return None;
    }
    let word = word.to_lowercase();
    let mut best: Option<(f64, &str)> = None;
    for candidate in candidates {
        if candidate.len() > LONGEST {
            continue;
        }
        let likeness = strsim::normalized_damerau_levenshtein(&word, &candidate.to_lowercase());
        if likeness >= LEAST_LIKENESS && best.is_none_or(|(most, _)| likeness > most) {
            best = Some((likeness, candidate));
        }
    }
    best.map(|(_, candidate)| candidate)
}

/// A remedy for an unknown name: the near one if there is one, and what there is.
pub(super) fn did_you_mean<'c>(
    word: &str,
    what_there_is: &str,
    candidates: impl IntoIterator<Item = &'c str> + Clone,
) -> String {
    if let Some(near) = nearest(word, candidates.clone()) {
        return format!("did you mean {near:?}?");
    }
    let shown = listed(candidates);
    if shown.is_empty() {
        format!("there are no {what_there_is}")
    } else {
        format!("the {what_there_is} are {shown}")
    }
}

/// Up to twenty names, in quotes, with commas.
pub(super) fn listed<'c>(names: impl IntoIterator<Item = &'c str>) -> String {
    let names: Vec<_> = names.into_iter().collect();
    let mut text = names
        .iter()
        .take(20)
        .map(|name| format!("{name:?}"))
        .collect::<Vec<_>>()
        .join(", ");
    if names.len() > 20 {
        text += &format!(" and {} more", names.len() - 20);
    }
    text
}

#[cfg(test)]
mod tests {
    use super::nearest;

    #[test]
    fn a_slip_finds_its_word_and_nonsense_finds_none() {
        let known = ["light horse", "line foot", "guns"];
        assert_eq!(nearest("Light Hrose", known), Some("light horse"));
        assert_eq!(nearest("gun", known), Some("guns"));
        assert_eq!(nearest("elephants", known), None);
    }
}
