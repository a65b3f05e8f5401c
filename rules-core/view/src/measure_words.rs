//! What was measured between two units, in sentences.

use fieldpost_rules::game::Game;
use fieldpost_rules::sanitize::plain;
use fieldpost_rules::verdict::rounding::{Apart, apart, bearing, ordered, seen, tenths};
use fieldpost_rules::verdict::{Arc, Cover, Measurement, Reach, Regard, Within};

/// A measurement as sentences: the distance, then each unit in regard to the other.
#[must_use]
pub fn measurement(measured: &Measurement) -> Vec<String> {
    let [first, second] = &measured.regards;
    let [from, to] = &measured.nearest;
    let (one, other) = (&first.unit, &second.unit);
    let mut lines = vec![if measured.distance_mm > 0.0 {
        format!(
            "{one} and {other} are {} mm apart: from ({}, {}) to ({}, {}).",
            seen(measured.distance_mm),
            tenths(from.x_mm),
            tenths(from.y_mm),
            tenths(to.x_mm),
            tenths(to.y_mm)
        )
    } else {
        format!("{one} and {other} touch.")
    }];
    // only guns have a bombardment range
    lines.extend(regard(first, second.bombardment.is_some()));
    lines.extend(regard(second, first.bombardment.is_some()));
    lines
}

fn regard(regard: &Regard, against_guns: bool) -> Vec<String> {
    let (unit, other) = (&regard.unit, &regard.other);
    let mut lines = vec![format!(
        "From {unit}, {other} bears {}°, {}, {}.",
        bearing(regard.bearing_deg),
        off_ahead(regard.off_ahead_deg),
        arc(regard.arc)
    )];
    lines.extend(aims(regard));
    for (zone, name) in [
        (&regard.halt_zone, "halt zone"),
        (&regard.strike_zone, "strike zone"),
        (&regard.bombardment, "bombardment range"),
        (&regard.fire, "farthest range band"),
    ] {
        if let Some(zone) = zone {
            lines.push(within(regard, zone, name));
        }
    }
    if let Some(sight) = &regard.sight {
        lines.push(match &sight.by {
            None => format!("{unit} sees {other} along {} mm.", tenths(sight.string_mm)),
            Some(by) => {
                let Apart { first, second, .. } = apart(sight.clear_mm, sight.string_mm);
                let by = named(by);
                format!(
                    "{unit} does not see {other}: after {first} of {second} mm, {by} is in the way."
                )
            }
        });
    }
    let cover = regard.cover.iter();
    lines.extend(cover.map(|cover| covered(regard, cover, against_guns)));
    lines.push(command(regard));
    lines
}

/// The middle and the corners of the other with the shorter wheel that faces each, a line each, lined up.
fn aims(regard: &Regard) -> Vec<String> {
    let (unit, other) = (&regard.unit, &regard.other);
    if regard.aims.is_empty() {
        return Vec::new();
    }
    let mut lines = vec![format!("To face {other}, {unit} wheels:")];
    lines.extend(regard.aims.iter().map(|aim| {
        let wheel = match (aim.wheel_left_deg, aim.wheel_right_deg) {
            (None, None) => "no wheel faces it".to_owned(),
            (Some(left), Some(right)) if right < left => format!("right {}°", ordered(right)),
            (Some(left), _) => format!("left {}°", ordered(left)),
            (None, Some(right)) => format!("right {}°", ordered(right)),
        };
        format!(
            "  {:<18}  ({}, {}), bearing {:>5}°: {wheel}",
            aim.point.words(),
            tenths(aim.at.x_mm),
            tenths(aim.at.y_mm),
            bearing(aim.bearing_deg)
        )
    }));
    lines
}

fn named(by: &str) -> &str {
    if by.is_empty() { "the ground" } else { by }
}

fn off_ahead(deg: f64) -> String {
    let figure = tenths(deg.abs());
    if figure == "0.0" {
        "straight ahead".to_owned()
    } else if deg < 0.0 {
        format!("{figure}° left of straight ahead")
    } else {
        format!("{figure}° right of straight ahead")
    }
}

fn arc(arc: Arc) -> &'static str {
    match arc {
        Arc::Front => "before its front",
        Arc::Flank => "on its flank",
        Arc::Rear => "in its rear",
    }
}

fn within(regard: &Regard, zone: &Within, name: &str) -> String {
    let (unit, other) = (&regard.unit, &regard.other);
    let Some(measured_mm) = zone.measured_mm else {
        return format!("No part of {other} lies ahead of {unit}, where its {name} is.");
    };
    let Apart { first, second, by } = apart(measured_mm, zone.limit_mm);
    if zone.within {
        format!("{other} is within the {name} of {unit}: {first} of {second} mm.")
    } else {
        format!("{other} is {by} mm outside the {name} of {unit}: {first} mm, not {second}.")
    }
}

/// Guns that fight alone are helped against by a line only on the last base width of their tape, so what a line
/// does against guns is told of a battle.
fn covered(regard: &Regard, cover: &Cover, against_guns: bool) -> String {
    let stands = if cover.line { "behind" } else { "on" };
    let strength = match cover.factor {
        1.0 => None,
        factor => Some(format!("its strength × {factor}")),
    };
    let column = match cover.shift {
        0 => None,
        columns => Some(format!("{columns:+} column(s)")),
    };
    let effects: Vec<String> = strength.into_iter().chain(column).collect();
    let (when, unless) = if cover.line && against_guns {
        (
            " in a battle",
            "; when they fire or bombard alone, only within the last base width of their tape",
        )
    } else {
        ("", "")
    };
    format!(
        "{} stands {stands} {} against {}{when}: {}{unless}.",
        regard.unit,
        cover.ground,
        regard.other,
        effects.join(", ")
    )
}

fn command(regard: &Regard) -> String {
    let (unit, command) = (&regard.unit, &regard.command);
    let Apart {
        first: distance,
        second: radius,
        ..
    } = apart(command.distance_mm, command.radius_mm);
    match (&command.commander, command.in_command) {
        (None, true) => format!("{unit} needs no commander."),
        (None, false) => format!("{unit} is out of command: no commander of its is on the table."),
        (Some(commander), true) => format!(
            "{unit} is in command: {commander} is {distance} mm away, within its radius of {radius} mm."
        ),
        (Some(commander), false) => format!(
            "{unit} is out of command: {commander}, its nearest, is {distance} mm away with a radius of {radius} mm."
        ),
    }
}

/// What a unit can reach in a turn, in a few lines.
#[must_use]
pub fn reach(reach: &Reach, game: &Game) -> String {
    let name = game
        .unit(&reach.unit)
        .map_or(&reach.unit.0, |unit| &unit.name);
    let command = if reach.in_command {
        "in command"
    } else {
        "out of command"
    };
    format!(
        "{} is {command} and may spend {} mm. By one of these it reaches the ground drawn, within {} mm:\n  {}",
        plain(name),
        tenths(reach.allowance_mm),
        tenths(reach.within_mm),
        reach.families.join("\n  ")
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use fieldpost_rules::orders::UnitId;
    use fieldpost_rules::referee::measure;
    use fieldpost_rules::referee::testing::{block, game, pair, rules};

    #[test]
    fn the_sentences() {
        let units = vec![
            pair("r1", "foot", (600.0, 600.0, 0.0)),
            block("r9", "general", (1, 1), (600.0, 400.0, 0.0)),
            block("b1", "guns", (2, 1), (650.0, 635.0, 180.0)),
        ];
        let game = game(rules(), units);
        let measured = measure(&game, &UnitId::from("r1"), &UnitId::from("b1"));
        let words = measurement(&measured.expect("both stand")).join("\n");
        insta::assert_snapshot!(words);
    }

    /// What a line does against guns, who fire from afar over all but the nearest of them, is told of a battle.
    #[test]
    fn a_line_against_guns_counts_in_a_battle() {
        let covered = |line| {
            let cover = Cover {
                ground: "Toll Hedge (hedge)".to_owned(),
                line,
                factor: 1.5,
                shift: 0,
            };
            let units = vec![
                pair("r1", "foot", (600.0, 600.0, 0.0)),
                block("b1", "guns", (2, 1), (600.0, 900.0, 180.0)),
                pair("b2", "foot", (800.0, 900.0, 180.0)),
            ];
            let game = game(rules(), units);
            ["b1", "b2"].map(|other| {
                let (r1, other) = (UnitId::from("r1"), UnitId::from(other));
                let mut measured = measure(&game, &r1, &other).expect("both stand");
                measured.regards[0].cover = vec![cover.clone()];
                let mut words = measurement(&measured).into_iter();
                words.find(|line| line.contains("hedge")).expect("told")
            })
        };
        let plain =
            |other| format!("r1 stands on Toll Hedge (hedge) against {other}: its strength × 1.5.");
        assert_eq!(covered(false), [plain("b1"), plain("b2")]);
        let [guns, foot] = covered(true);
        assert_eq!(
            guns,
            "r1 stands behind Toll Hedge (hedge) against b1 in a battle: its strength × 1.5; when they fire or bombard \
             alone, only within the last base width of their tape."
        );
        assert_eq!(foot, plain("b2").replace(" on ", " behind "));
    }
}
