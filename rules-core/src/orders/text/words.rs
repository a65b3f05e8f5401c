//! The words that carry meaning in a sheet, and near misses of them.

use super::tokens::{Kind, Token};

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

/// What a word of movement says by itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Sense {
    /// Some movement, forward where nothing else is said.
    Go,
    /// As [`Self::Go`], but to a side it is a sidestep.
    Step,
    Forward,
    Back,
    Sidestep,
    Oblique,
    Wheel,
    /// A quarter turn; with something to face it could be a wheel.
    Turn,
    About,
    Align,
    Reform,
    Stand,
    /// Going back, with the face or the back to the enemy.
    Retire,
}

use Sense::{About, Align, Back, Forward, Go, Oblique, Reform, Retire, Sidestep};
use Sense::{Stand, Step, Turn, Wheel};

/// Other words for the legs. A unit may be called by one of them without brackets: where a unit is looked for,
/// its name comes first.
const OTHER_LEGS: [(Sense, &str); 13] = [
    (
        Go,
        "move moves moving go goes going march marches marching proceed proceeds straight come \
         comes carry carries ride rides riding gallop gallops trot trots canter canters walk walks run runs \
         roll rolls",
    ),
    (Step, "step steps stepping"),
    (
        Forward,
        "advance advances advancing onward onwards press presses",
    ),
    (
        Back,
        "rearward rearwards backs backing backstep reverse reverses reversing",
    ),
    (
        Sidestep,
        "sidestepping sideways sideward sidewards shift shifts shifting slide slides sliding \
         sidle sidles lateral laterally",
    ),
    (
        Oblique,
        "obliques inclines inclining diagonal diagonally slant slants",
    ),
    (
        Wheel,
        "wheeling pivot pivots pivoting swing swings swinging swivel swivels rotate rotates",
    ),
    (Turn, "turning face faces facing"),
    (About, "about-face u-turn"),
    (Align, "aligning"),
    (Reform, "reforming re-form re-forms form forms forming"),
    (
        Stand,
        "hold holds holding standing halt halts halting stop stops stay stays staying remain \
         remains wait waits waiting keep keeps keeping pass passes rests",
    ),
    (
        Retire,
        "retire retires retiring retreat retreats retreating",
    ),
];

/// What a verb that begins no leg orders.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Deed {
    Arrive,
    Withdraw,
    Leave,
    Attack,
    Fire,
    Give,
    Follow,
}

const DEEDS: [(Deed, &[&str], &str); 7] = [
    (Deed::Arrive, ARRIVE, "arriving enter enters entering"),
    (Deed::Withdraw, WITHDRAW, "withdrawing disengage disengages"),
    (Deed::Leave, LEAVE, "leaving exit exits depart departs"),
    (
        Deed::Attack,
        ATTACK,
        "attacking charge charges charging assault assaults assaulting engage engages \
         engaging fight fights fighting storm storms",
    ),
    (
        Deed::Fire,
        FIRE,
        "firing shoot shoots shooting bombard bombards bombarding shell shells cannonade \
         cannonades",
    ),
    (Deed::Give, GIVE, "giving"),
    (Deed::Follow, FOLLOW, "following"),
];

/// Verbs of two words.
const PAIRS: [(Deed, &[&str], &[&str]); 7] = [
    (
        Deed::Arrive,
        &["come", "comes", "coming"],
        &["on", "in", "onto"],
    ),
    (
        Deed::Withdraw,
        &["break", "breaks", "breaking"],
        &["contact", "off", "away"],
    ),
    (
        Deed::Leave,
        &["go", "goes", "move", "moves", "march", "marches"],
        &["off"],
    ),
    (Deed::Attack, &["make", "makes"], &["contact"]),
    (Deed::Fire, &["open", "opens"], &["fire"]),
    (Deed::Attack, &["close", "closes"], &["with"]),
    (Deed::Attack, &["launch", "launches"], &["attack"]),
];

/// Legs of two words.
const LEG_PAIRS: [(Sense, &[&str], &[&str]); 10] = [
    (
        Reform,
        &["change", "changes", "changing"],
        &["formation", "frontage", "front"],
    ),
    (Sidestep, &["side"], &["step", "steps", "stepping"]),
    (
        About,
        &["turn", "turns", "face", "faces", "turning"],
        &["about", "round", "around", "rear", "back", "backwards"],
    ),
    (About, &["about"], &["turn", "turns", "face", "faces"]),
    (
        Back,
        &["pull", "pulls", "draw", "draws", "pulling"],
        &["back", "backwards"],
    ),
    (Retire, &["fall", "falls", "falling"], &["back"]),
    (
        Stand,
        &["no"],
        &[
            "move", "movement", "moves", "order", "orders", "action", "change",
        ],
    ),
    (Stand, &["sit", "sits"], &["tight", "still"]),
    (Forward, &["push", "pushes"], &["on", "forward", "ahead"]),
    (Stand, &["do", "does"], &["nothing"]),
];

/// Every word that a unit of that id must be put in brackets for.
pub(super) fn all() -> impl Iterator<Item = &'static str> {
    let legs = LEGS.iter().map(|(_, words)| *words);
    legs.chain(OTHERS).flatten().copied()
}

/// Words that have a meaning where no unit is called so.
pub(super) fn others() -> impl Iterator<Item = &'static str> {
    let legs = OTHER_LEGS.iter().map(|(_, words)| *words);
    let deeds = DEEDS.iter().map(|(_, _, words)| *words);
    legs.chain(deeds).flat_map(str::split_whitespace)
}

/// Whether a word means something of its own, so that a unit's name ends before it.
pub(crate) fn is_reserved(word: &str) -> bool {
    all().any(|known| known.eq_ignore_ascii_case(word))
}

/// The usual words of legs with what they say.
const USUAL: [(&str, Sense); 10] = [
    ("forward", Forward),
    ("back", Back),
    ("sidestep", Sidestep),
    ("oblique", Oblique),
    ("wheel", Wheel),
    ("turn", Turn),
    ("about", About),
    ("align", Align),
    ("reform", Reform),
    ("stand", Stand),
];

/// What the next tokens say of a movement, and in how many words.
pub(super) fn sense_of(tokens: &[Token<'_>]) -> Option<(Sense, usize)> {
    let [first, rest @ ..] = tokens else {
        return None;
    };
    if let Some(second) = rest.first() {
        let found = LEG_PAIRS
            .iter()
            .find(|(_, one, two)| first.is_word(one) && second.is_word(two));
        if let Some((sense, _, _)) = found {
            return Some((*sense, 2));
        }
        if first.is_word(&["face", "faces", "facing", "turn", "turns"])
            && let [to, the, rear, ..] = rest
            && to.is_word(&["to"])
            && the.is_word(&["the"])
            && rear.is_word(&["rear"])
        {
            return Some((About, 4));
        }
    }
    let usual = LEGS.iter().find(|(_, words)| first.is_word(words));
    let usual = usual.and_then(|(name, _)| USUAL.iter().find(|(known, _)| known == name));
    let other = || OTHER_LEGS.iter().find(|(_, words)| first.is_one_of(words));
    let sense = usual
        .map(|(_, sense)| *sense)
        .or_else(|| other().map(|(sense, _)| *sense))?;
    Some((sense, 1))
}

/// What the next tokens order beside a movement, and in how many words.
pub(super) fn deed_of(tokens: &[Token<'_>]) -> Option<(Deed, usize)> {
    let [first, rest @ ..] = tokens else {
        return None;
    };
    if let Some(second) = rest.first()
        && let Some((deed, _, _)) = PAIRS
            .iter()
            .find(|(_, one, two)| first.is_word(one) && second.is_word(two))
    {
        return Some((*deed, 2));
    }
    let found = DEEDS
        .iter()
        .find(|(_, usual, others)| first.is_word(usual) || first.is_one_of(others));
    found.map(|(deed, _, _)| (*deed, 1))
}

/// Whether a token begins a leg or another order by a word that no unit can be called by without brackets.
pub(super) fn begins_order(token: &Token<'_>) -> bool {
    token.kind == Kind::Word
        && is_reserved(token.text)
        && !token.is_word(&["and", "at", "game", "to", "up"])
        && !token.is_word(EVERYONE)
        && !token.is_word(NOBODY)
}

/// Whether a word is said of movements or orders, though a unit may be called so.
pub(super) fn is_soft(token: &Token<'_>) -> bool {
    token.kind == Kind::Word && others().any(|known| known.eq_ignore_ascii_case(token.text))
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
