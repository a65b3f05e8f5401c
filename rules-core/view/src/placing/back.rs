//! Corners measured on a real table beside what the record has.

use serde::Serialize;

use super::{
    Corner, Edges, PlacingEntry, Reading, Steps, TapeUnit, placing, pose_from_corners, word,
};
use fieldpost_rules::game::Game;
use fieldpost_rules::orders::UnitId;
use fieldpost_rules::orders::text::CornerReading;
use fieldpost_rules::ruleset::LengthUnit;
use fieldpost_rules::sanitize::plain;
use fieldpost_rules::verdict::Place;
use fieldpost_rules::verdict::rounding::{bearing, tenths};

impl TapeUnit {
    /// What a number without a unit counts on this tape.
    #[must_use]
    pub fn length_unit(self) -> LengthUnit {
        match self {
            Self::Centimetres => LengthUnit::Centimetres,
            Self::Inches => LengthUnit::Inches,
        }
    }
}

/// One unit as it stands on a real table.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ReadBack {
    /// Who.
    pub unit: UnitId,
    /// Its short mark.
    pub mark: String,
    /// Its name.
    pub name: String,
    /// The edges measured from.
    pub edges: Edges,
    /// Where it stands by the corners measured.
    pub place: Place,
    /// How that compares with the record.
    pub reading: Reading,
    /// What the tape should read at the front left corner, from the same edges.
    pub front_left: Corner,
    /// What it should read at the front right corner.
    pub front_right: Corner,
}

/// Reads a unit back. Edges that were not named are those of the placing sheet.
///
/// # Errors
/// A sentence when no such unit stands on the table, or the corners make no front edge.
pub fn read_back(
    game: &Game,
    noted: &CornerReading,
    tape: TapeUnit,
    steps: Steps,
) -> Result<ReadBack, String> {
    let unit = game
        .unit(&noted.unit)
        .ok_or_else(|| format!("there is no unit {}", plain(&noted.unit.0)))?;
    let stands = unit
        .footprint()
        .ok_or_else(|| format!("{} is not on the table", plain(&unit.name)))?;
    let table = &game.scenario().table;
    let edges = noted.edges.map_or_else(
        || Edges::nearest_to(stands.centre, table),
        |(across, along)| Edges { across, along },
    );
    let [left_across, left_along, right_across, right_along] = noted.lengths_mm;
    let corner = |across_mm, along_mm| Corner {
        across_mm,
        along_mm,
    };
    let reading = pose_from_corners(
        game,
        &noted.unit,
        edges,
        corner(left_across, left_along),
        corner(right_across, right_along),
        steps,
    )
    .map_err(|why| format!("{}: {why}", plain(&unit.name)))?;
    let should = |point: fieldpost_rules::geometry::Point| {
        let (across, along) = edges.swapped(point.x, point.y, table);
        corner(tape.rounded_mm(across), tape.rounded_mm(along))
    };
    Ok(ReadBack {
        unit: noted.unit.clone(),
        mark: fieldpost_rules::game::marks(game)
            .remove(&noted.unit)
            .unwrap_or_default(),
        name: unit.name.clone(),
        edges,
        place: Place::from(reading.pose),
        front_left: should(stands.front_left()),
        front_right: should(stands.front_right()),
        reading,
    })
}

/// Units read back as text, and which of those on the table were not measured.
#[must_use]
pub fn read_back_sheet(game: &Game, found: &[ReadBack], tape: TapeUnit) -> String {
    let mut out = String::new();
    for one in found {
        out.push_str(&one.words(tape));
        out.push('\n');
    }
    let missing: Vec<String> = placing(game, tape)
        .into_iter()
        .filter(|entry| found.iter().all(|one| one.unit != entry.unit))
        .map(|PlacingEntry { mark, .. }| mark)
        .collect();
    let out_of_place = found
        .iter()
        .filter(|one| !one.reading.is_within_tolerance)
        .count();
    out.push_str(&match (out_of_place, found.len()) {
        (0, 1) => "It stands as the record has it.".to_owned(),
        (0, count) => format!("All {count} stand as the record has them."),
        (1, 1) => "It does not stand as the record has it.".to_owned(),
        (some, count) => {
            format!("{some} of {count} measured do not stand as the record has them.")
        }
    });
    if found.len() > 1 && !missing.is_empty() {
        out.push_str(&format!(" Not measured: {}.", missing.join(", ")));
    }
    out.push('\n');
    out
}

impl ReadBack {
    /// The reading in words, and what the tape should have read if it is out of place.
    #[must_use]
    pub fn words(&self, tape: TapeUnit) -> String {
        let mut out = format!(
            "{} {}: {}\n",
            self.mark,
            plain(&self.name),
            self.reading.words()
        );
        let place = &self.place;
        out.push_str(&format!(
            "  It stands {} mm from the west edge and {} mm from the south, facing {}°.\n",
            tenths(place.x_mm),
            tenths(place.y_mm),
            bearing(place.bearing_deg)
        ));
        if !self.reading.is_within_tolerance {
            let read = |corner: Corner| {
                format!(
                    "{} and {}",
                    tape.read(corner.across_mm),
                    tape.read(corner.along_mm)
                )
            };
            out.push_str(&format!(
                "  Its left corner belongs at {}, its right corner at {} {} from the {} and the {} edge.\n",
                read(self.front_left),
                read(self.front_right),
                tape.name(),
                word(self.edges.across),
                word(self.edges.along)
            ));
        }
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample;
    use fieldpost_rules::orders::text::parse_readings;

    fn read(text: &str, tape: TapeUnit) -> Vec<ReadBack> {
        let game = sample::game();
        parse_readings("readings", text, &game, tape.length_unit())
            .unwrap_or_else(|faults| panic!("{}", faults[0].drawn(false)))
            .iter()
            .map(|noted| read_back(&game, noted, tape, tape.steps()).unwrap())
            .collect()
    }

    /// Typing the placing sheet back finds every unit in its place.
    #[test]
    fn the_placing_sheet_typed_back_finds_everybody_in_place() {
        let game = sample::game();
        for tape in [TapeUnit::Centimetres, TapeUnit::Inches] {
            let sheet = placing(&game, tape);
            assert!(sheet.len() > 10);
            let typed: Vec<String> = sheet
                .iter()
                .map(|entry| {
                    let (l, r) = (entry.front_left, entry.front_right);
                    format!(
                        "{}: {}, {}, {}, {} from the {} and {}",
                        entry.mark,
                        tape.read(l.across_mm),
                        tape.read(l.along_mm),
                        tape.read(r.across_mm),
                        tape.read(r.along_mm),
                        word(entry.edges.across),
                        word(entry.edges.along),
                    )
                })
                .collect();
            let found = read(&typed.join("\n"), tape);
            assert_eq!(found.len(), sheet.len());
            for one in &found {
                assert!(one.reading.is_within_tolerance, "{one:?}");
            }
            let text = read_back_sheet(&game, &found, tape);
            assert!(text.contains("stand as the record has them"), "{text}");
        }
    }

    /// A block that stands where the sheet puts it is in its place however finely it is read; one that was placed by
    /// its exact pose has no such excuse.
    #[test]
    fn who_stands_where_the_sheet_puts_it_is_in_place_however_finely_it_is_read() {
        let mut scenario = sample::scenario();
        // every corner is rounded by 2 mm and more
        scenario.unit[0].at = Some([422.4, 262.4, 0.0]);
        let game = sample::open(scenario);
        let tape = TapeUnit::Centimetres;
        let sheet = placing(&game, tape);
        let entry = sheet.iter().find(|entry| entry.unit.0 == "red-1").unwrap();
        let (l, r) = (entry.front_left, entry.front_right);
        let noted = CornerReading {
            unit: entry.unit.clone(),
            lengths_mm: [l.across_mm, l.along_mm, r.across_mm, r.along_mm],
            edges: Some((entry.edges.across, entry.edges.along)),
        };
        let stands = |placed_mm, read_mm| {
            let steps = Steps { placed_mm, read_mm };
            let found = read_back(&game, &noted, tape, steps).unwrap();
            found.reading.is_within_tolerance
        };
        assert!(stands(5.0, 5.0) && stands(5.0, 1.0) && stands(5.0, 0.0));
        assert!(!stands(0.0, 1.0) && !stands(1.0, 1.0));
    }

    #[test]
    fn what_is_out_of_place_is_told_and_what_is_missing_too() {
        // First Foot's front is 160 wide and stands at 340 to 500, 260 from the south
        let found = read(
            "R1: 36 26 52 26 from the west and south\nblue-3: 24 37 40 37",
            TapeUnit::Centimetres,
        );
        let text = read_back_sheet(&sample::game(), &found, TapeUnit::Centimetres);
        insta::assert_snapshot!(text);
    }

    #[test]
    fn a_misread_corner_is_said_to_be_one() {
        let found = read("R1: 34 26 56 26", TapeUnit::Centimetres);
        let words = found[0].words(TapeUnit::Centimetres);
        assert!(words.contains("a corner was misread"), "{words}");
    }

    #[test]
    fn faulty_readings_are_pointed_at() {
        let game = sample::game();
        let faults = |text: &str| {
            let faults = parse_readings("r", text, &game, LengthUnit::Centimetres).unwrap_err();
            faults[0].drawn(false)
        };
        for (text, wanted) in [
            ("R1 34 26", "a colon"),
            ("R1: 34 26 56", "a length"),
            ("R1: 34 26 56 26 from west and east", "do not meet"),
            ("R1: 34 26 56 26 from the top", "an edge"),
            ("R1: 34 26 56 26 1", "the end of the line"),
            ("Z9: 34 26 56 26", "Z9"),
            ("R1: 34 -26 56 26", "sign"),
        ] {
            let drawn = faults(text);
            assert!(drawn.contains(wanted), "{text}: {drawn}");
        }
    }
}
