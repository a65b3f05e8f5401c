//! The words that carry meaning in a sheet, and near misses of them.

/// Words that begin a leg, usual word first.
pub(super) const LEGS: [(&str, &[&str]); 10] = [
    ("forward", &["forward", "forwards", "fwd", "ahead"]),
    ("back", &["back", "backward", "backwards"]),
    ("sidestep", &["sidestep", "sidesteps", "side-step"]),
    ("oblique", &["oblique", "obliquely", "incline"]),
    ("wheel", &["wheel", "wheels"]),
    ("turn", &["turn", "turns"]),
    ("about", &["about", "about-turn"]),
    ("align", &["align", "aligns"]),
    ("reform", &["reform", "reforms"]),
    ("stand", &["stand", "stands"]),
];

pub(super) const ARRIVE: &[&str] = &["arrive", "arrives"];
pub(super) const WITHDRAW: &[&str] = &["withdraw", "withdraws"];
pub(super) const LEAVE: &[&str] = &["leave", "leaves"];
pub(super) const ATTACK: &[&str] = &["attack", "attacks"];
pub(super) const FIRE: &[&str] = &["fire", "fires"];
pub(super) const GIVE: &[&str] = &["give", "gives"];
pub(super) const FOLLOW: &[&str] = &["follow", "follows"];
pub(super) const HOLD: &[&str] = &["hold", "holds"];
pub(super) const WITH: &[&str] = &["with"];
pub(super) const GUNS: &[&str] = &["guns", "gun"];
pub(super) const TOGETHER: &[&str] = &["together"];
pub(super) const NOBODY: &[&str] = &["nobody", "none"];
pub(super) const EVERYONE: &[&str] = &["all", "everyone", "everybody"];
pub(super) const LEFT: &[&str] = &["left", "l"];
pub(super) const RIGHT: &[&str] = &["right", "r"];

const OTHERS: [&[&str]; 16] = [
    ARRIVE,
    WITHDRAW,
    LEAVE,
    ATTACK,
    FIRE,
    GIVE,
    FOLLOW,
    HOLD,
    WITH,
    GUNS,
    TOGETHER,
    NOBODY,
    EVERYONE,
    LEFT,
    RIGHT,
    &["and", "then", "at", "game", "up", "to"],
];

/// Every word that means something of its own.
pub(super) fn all() -> impl Iterator<Item = &'static str> {
    let legs = LEGS.iter().map(|(_, words)| *words);
    legs.chain(OTHERS).flatten().copied()
}

/// Whether a word means something of its own, so that a unit's name ends before it.
pub(crate) fn is_reserved(word: &str) -> bool {
    all().any(|known| known.eq_ignore_ascii_case(word))
}

/// The usual word of a leg that a word begins.
pub(super) fn leg_named(word: &str) -> Option<&'static str> {
    LEGS.iter()
        .find(|(_, words)| words.iter().any(|known| known.eq_ignore_ascii_case(word)))
        .map(|(usual, _)| *usual)
}

/// `; did you mean "wheel"?`, or nothing.
pub(super) fn suggestion<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> String {
    let known = known.into_iter().map(|word| (word, word));
    nearest_of(word, known).map_or_else(String::new, |near| format!("; did you mean {near:?}?"))
}

/// What stands beside the one of `known` that a mistyped word most likely means.
pub(super) fn nearest_of<'a>(
    word: &str,
    known: impl IntoIterator<Item = (&'a str, &'a str)>,
) -> Option<&'a str> {
    let word: String = word.to_lowercase().chars().take(60).collect();
    let slips_max = 1.max(word.chars().count() / 3);
    known
        .into_iter()
        .map(|(candidate, meant)| {
            let slips = strsim::osa_distance(&word, &candidate.to_lowercase());
            (slips, meant)
        })
        .filter(|(slips, _)| *slips <= slips_max)
        .min_by_key(|(slips, _)| *slips)
        .map(|(_, meant)| meant)
}
