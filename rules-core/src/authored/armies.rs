//! Sides, units and the chain of command of a scenario.

use std::collections::{BTreeMap, BTreeSet};

use crate::ruleset::{Arm, Ruleset};
use crate::scenario::{Command, Scenario, UnitEntry};

use super::findings::Findings;
use super::place::Place;

/// Longest mark of a unit, in characters: it stands beside the unit on pictures.
const LONGEST_MARK: usize = 4;

/// Longest key of a side or unit, in characters: it is typed in every order.
const LONGEST_KEY: usize = 24;

/// Checks the sides and the order of battle.
pub(super) fn check(scenario: &Scenario, ruleset: &Ruleset, findings: &mut Findings<'_>) {
    check_sides(scenario, findings);
    let mut ids: BTreeMap<String, &UnitEntry> = BTreeMap::new();
    let mut chiefs: BTreeMap<&str, &str> = BTreeMap::new();
    for (index, unit) in scenario.unit.iter().enumerate() {
        let place = Place::of("unit").item(index);
        check_key(&place.key("id"), &unit.id, findings);
        if let Some(other) = ids.insert(unit.id.to_lowercase(), unit) {
            findings.fault(
                &place.key("id"),
                format!("{:?} is the id of {:?} already", unit.id, other.name),
                "give every unit an id of its own; case makes no difference",
            );
        }
        known_side(&place.key("side"), &unit.side, scenario, findings);
        check_bases(unit, &place, findings);
        check_arm(unit, ruleset, &place, findings);
        if unit.command == Some(Command::Chief)
            && let Some(other) = chiefs.insert(&unit.side, &unit.id)
        {
            findings.fault(
                &place.key("command"),
                format!("{:?} has a chief already: {other:?}", unit.side),
                "make one of them a \"subordinate\"; a side has one chief",
            );
        }
    }
    check_marks(scenario, findings);
    for (index, unit) in scenario.unit.iter().enumerate() {
        let place = Place::of("unit").item(index);
        check_under(unit, &ids, (scenario, ruleset), &place, findings);
    }
}

fn check_sides(scenario: &Scenario, findings: &mut Findings<'_>) {
    for (index, side) in scenario.side.iter().enumerate() {
        let place = Place::of("side").item(index);
        check_key(&place.key("key"), &side.key, findings);
        if let Some(colour) = &side.colour
            && !is_colour(colour)
        {
            findings.fault(
                &place.key("colour"),
                format!("{colour:?} is not a colour"),
                "write # and six digits of 0-9 and a-f, such as \"#8b1a1a\"",
            );
        }
        if !scenario.unit.iter().any(|unit| unit.side == side.key) {
            findings.fault(
                &place,
                format!("{:?} has no unit", side.key),
                format!("add a [[unit]] with side = {:?}", side.key),
            );
        }
    }
    if let [first, second] = scenario.side.as_slice()
        && first.key.eq_ignore_ascii_case(&second.key)
    {
        findings.fault(
            &Place::of("side").item(1).key("key"),
            format!("both sides have the key {:?}", second.key),
            "give each side a key of its own",
        );
    }
}

/// Whether a text is `#rrggbb`.
fn is_colour(text: &str) -> bool {
    text.strip_prefix('#')
        .is_some_and(|digits| digits.len() == 6 && digits.chars().all(|c| c.is_ascii_hexdigit()))
}

fn check_key(place: &Place, key: &str, findings: &mut Findings<'_>) {
    let fits = key.chars().count() <= LONGEST_KEY
        && key.starts_with(|c: char| c.is_alphanumeric())
        && key
            .chars()
            .all(|c| c.is_alphanumeric() || matches!(c, '-' | '_' | '.'));
    if !fits {
        findings.fault(
            place,
            format!("{key:?} cannot be typed in an order"),
            format!(
                "use up to {LONGEST_KEY} letters, digits, hyphens, dots and underscores, \
                 beginning with a letter or digit"
            ),
        );
    }
}

/// Marks are typed in orders and stand alone on pictures: each names one unit.
fn check_marks(scenario: &Scenario, findings: &mut Findings<'_>) {
    let mut marks: BTreeMap<String, &str> = BTreeMap::new();
    for (index, unit) in scenario.unit.iter().enumerate() {
        let Some(mark) = &unit.mark else { continue };
        let place = Place::of("unit").item(index).key("mark");
        let fits = mark.chars().count() <= LONGEST_MARK
            && mark.starts_with(|c: char| c.is_alphabetic())
            && mark.chars().all(char::is_alphanumeric);
        if !fits {
            findings.fault(
                &place,
                format!("{mark:?} is no mark"),
                format!(
                    "write 1 to {LONGEST_MARK} letters and digits, beginning with a letter, or leave it out"
                ),
            );
        }
        let key = mark.to_lowercase();
        let mut others = scenario.unit.iter().filter(|other| other.id != unit.id);
        if let Some(other) = others.find(|other| other.id.to_lowercase() == key) {
            findings.fault(
                &place,
                format!("{mark:?} is the id of {:?}", other.name),
                "give it a mark that is no other unit's id; case makes no difference",
            );
        }
        if let Some(other) = marks.insert(key, &unit.name) {
            findings.fault(
                &place,
                format!("{mark:?} is the mark of {other:?} already"),
                "give every unit a mark of its own; case makes no difference",
            );
        }
    }
}

/// Reports a side that the scenario does not have.
pub(super) fn known_side(
    place: &Place,
    side: &str,
    scenario: &Scenario,
    findings: &mut Findings<'_>,
) -> bool {
    let sides = scenario.side.iter().map(|side| side.key.as_str());
    // Two sides of one key are a fault of their own, and say nothing about other places.
    if sides.clone().collect::<BTreeSet<_>>().len() < scenario.side.len() {
        return true;
    }
    findings.known(place, side, "side of this battle", "sides", sides)
}

fn check_bases(unit: &UnitEntry, place: &Place, findings: &mut Findings<'_>) {
    let Some(bases) = unit.bases else { return };
    let (files, ranks) = (u32::from(unit.files), u32::from(unit.ranks));
    let most = files * ranks;
    let least = most - files + 1;
    if !(least..=most).contains(&u32::from(bases)) {
        findings.fault(
            &place.key("bases"),
            format!("{bases} bases do not make {files} files by {ranks} ranks"),
            if least == most {
                format!("write {most}, or leave it out")
            } else {
                format!("{least} to {most} do, with the last rank part-filled")
            },
        );
    }
}

fn check_arm(unit: &UnitEntry, ruleset: &Ruleset, place: &Place, findings: &mut Findings<'_>) {
    let types = ruleset.troops.keys().map(String::as_str);
    let known = findings.known(
        &place.key("troops"),
        &unit.troops,
        "troop type of these rules",
        "troop types",
        types,
    );
    let Some(troops) = ruleset.troops.get(&unit.troops).filter(|_| known) else {
        return;
    };
    match (troops.arm == Arm::Commander, unit.command) {
        (true, None) => findings.fault(
            place,
            format!("{:?} is a commander without a place in the chain", unit.id),
            "add command = \"chief\" or command = \"subordinate\"",
        ),
        (false, Some(_)) => findings.fault(
            &place.key("command"),
            format!(
                "{:?} commands, but {:?} are no commanders",
                unit.id, unit.troops
            ),
            "leave command out, or choose a troop type whose arm is \"commander\"",
        ),
        _ => {}
    }
    if troops.arm == Arm::Commander && (unit.files, unit.ranks) != (1, 1) {
        findings.fault(
            place,
            format!(
                "{:?} is a commander of {} by {} bases",
                unit.id, unit.files, unit.ranks
            ),
            "a commander is one base: leave files and ranks out",
        );
    }
}

fn check_under(
    unit: &UnitEntry,
    ids: &BTreeMap<String, &UnitEntry>,
    (scenario, ruleset): (&Scenario, &Ruleset),
    place: &Place,
    findings: &mut Findings<'_>,
) {
    let Some(under) = &unit.under else { return };
    let place = place.key("under");
    let subordinates = scenario
        .unit
        .iter()
        .filter(|other| other.side == unit.side && other.command == Some(Command::Subordinate))
        .map(|other| other.id.as_str());
    if unit.command.is_some() {
        findings.fault(
            &place,
            format!("{:?} is a commander, and looks to the chief alone", unit.id),
            "leave under out",
        );
        return;
    }
    match ids.get(&under.to_lowercase()) {
        Some(other) if other.side != unit.side => findings.fault(
            &place,
            format!("{under:?} is on the other side"),
            "name a subordinate commander of the unit's own side",
        ),
        Some(other) if other.command == Some(Command::Chief) => findings.fault(
            &place,
            format!("{under:?} is the chief, whom every unit is under"),
            "leave under out",
        ),
        // it is the one that is meant, so no other of a similar name is offered
        Some(other) if other.command.is_none() => {
            let troops = ruleset.troops.get(&other.troops);
            let (why, remedy) = if troops.is_some_and(|troops| troops.arm == Arm::Commander) {
                let remedy = format!("add command = \"subordinate\" to {:?}", other.id);
                ("has no place in the chain of command itself", remedy)
            } else {
                let remedy = "name a subordinate commander of this side, or leave under out";
                ("is no commander", remedy.to_owned())
            };
            findings.fault(&place, format!("{under:?} {why}"), remedy);
        }
        _ => {
            findings.known(
                &place,
                under,
                "subordinate commander of this side",
                "subordinate commanders of this side",
                subordinates,
            );
        }
    }
}
