//! Trials of the printed table: every point is on some sheet, neighbours share what they say they
//! share, and what stands in the file is where the paper should have it.

use super::pdf::{encoded, width};
use super::*;
use crate::sample;
use fieldpost_commander::Chance;
use fieldpost_rules::geometry::Point;
use fieldpost_rules::scenario::TableSize;

/// Points to a millimetre.
const POINTS: f64 = 72.0 / 25.4;

fn some_options(chance: &mut Chance) -> (TableSize, PrintOptions) {
    let table = TableSize {
        width_mm: 50.0 + chance.share() * 2400.0,
        depth_mm: 50.0 + chance.share() * 1800.0,
    };
    let pick = |share: f64, count: f64| (share * count).floor();
    let paper = match pick(chance.share(), 3.0) {
        p if p < 0.5 => Paper::A4,
        p if p < 1.5 => Paper::A3,
        _ => Paper::LETTER,
    };
    let orientation = match pick(chance.share(), 3.0) {
        p if p < 0.5 => Orientation::Fewest,
        p if p < 1.5 => Orientation::Portrait,
        _ => Orientation::Landscape,
    };
    let part = (chance.share() < 0.3).then(|| {
        let west_mm = chance.share() * table.width_mm * 0.5;
        let south_mm = chance.share() * table.depth_mm * 0.5;
        Part {
            west_mm,
            south_mm,
            east_mm: west_mm + 20.0 + chance.share() * table.width_mm,
            north_mm: south_mm + 20.0 + chance.share() * table.depth_mm,
        }
    });
    let options = PrintOptions {
        paper,
        orientation,
        margin_mm: 8.0 + chance.share() * 20.0,
        overlap_mm: chance.share() * 40.0,
        part,
        ..PrintOptions::default()
    };
    (table, options)
}

/// Two thousand layouts, the same every time: each of a lattice of points, edges and corners among
/// them, is on a sheet; neighbours share the overlap and nothing more; no sheet is to spare.
#[test]
fn every_point_is_on_a_sheet_and_neighbours_share_the_overlap() {
    let mut chance = Chance::new(20_260_101);
    let mut laid_out = 0;
    for _ in 0..2_000 {
        let (table, options) = some_options(&mut chance);
        let Ok(layout) = Layout::of(&table, &options) else {
            continue;
        };
        laid_out += 1;
        let sheets: Vec<Sheet> = layout.sheets().collect();
        assert_eq!(sheets.len() as u64, layout.count());
        let part = layout.part;
        for column in 0..=13 {
            for row in 0..=13 {
                let share = |step: i32| f64::from(step) / 13.0;
                let point = Point::new(
                    part.west_mm + part.width_mm() * share(column),
                    part.south_mm + part.depth_mm() * share(row),
                );
                assert!(
                    sheets.iter().any(|sheet| sheet.window.holds(point, 1e-6)),
                    "{point:?} of {layout:?}"
                );
            }
        }
        let (wide, high) = layout.window_mm();
        for sheet in &sheets {
            assert!((sheet.window.width_mm() - wide).abs() < 1e-9);
            assert!((sheet.window.depth_mm() - high).abs() < 1e-9);
            if sheet.column + 1 < layout.columns {
                let east = layout.sheet(sheet.column + 1, sheet.row).window;
                let shared = sheet.window.east_mm - east.west_mm;
                assert!((shared - layout.overlap_mm).abs() < 1e-9, "{shared}");
            }
            if sheet.row + 1 < layout.rows {
                let south = layout.sheet(sheet.column, sheet.row + 1).window;
                let shared = south.north_mm - sheet.window.south_mm;
                assert!((shared - layout.overlap_mm).abs() < 1e-9, "{shared}");
            }
        }
        let span = |count: u32, window: f64| {
            f64::from(count) * (window - layout.overlap_mm) + layout.overlap_mm
        };
        assert!(layout.columns == 1 || span(layout.columns - 1, wide) < part.width_mm());
        assert!(layout.rows == 1 || span(layout.rows - 1, high) < part.depth_mm());
    }
    assert!(laid_out > 1_000, "{laid_out}");
}

#[test]
fn the_lie_with_fewest_sheets_is_found() {
    let table = TableSize {
        width_mm: 270.0,
        depth_mm: 180.0,
    };
    let layout = Layout::of(&table, &PrintOptions::default()).unwrap();
    assert_eq!((layout.count(), layout.page_mm), (1, (297.0, 210.0)));
}

#[test]
fn what_cannot_be_printed_is_said() {
    let table = TableSize {
        width_mm: 20_000.0,
        depth_mm: 20_000.0,
    };
    let with = |margin_mm, overlap_mm| {
        let options = PrintOptions {
            margin_mm,
            overlap_mm,
            ..PrintOptions::default()
        };
        Layout::of(&table, &options).unwrap_err().to_string()
    };
    assert!(with(12.0, 10.0).contains("sheets, more than 600"));
    assert!(with(3.0, 10.0).contains("8 mm or more"));
    assert!(with(f64::NAN, 10.0).contains("8 mm or more"));
    assert!(with(12.0, 90.0).contains("0 to 62 mm"));
    assert!(with(12.0, -1.0).contains("0 to 62 mm"));
}

/// The file's objects: content streams in the order of their pages.
fn streams(file: &[u8]) -> Vec<String> {
    let text: String = file.iter().map(|byte| char::from(*byte)).collect();
    text.split("stream\n")
        .skip(1)
        .step_by(2)
        .map(|rest| rest.split("\nendstream").next().unwrap_or("").to_owned())
        .collect()
}

/// The three numbers or more before an operator.
fn operands(line: &str) -> Vec<f64> {
    line.split_whitespace()
        .map_while(|word| word.parse().ok())
        .collect()
}

#[test]
fn pages_are_of_the_paper_and_one_a_sheet_after_the_first() {
    let game = sample::game();
    for (paper, width_mm, height_mm) in [(Paper::A4, 210.0, 297.0), (Paper::LETTER, 215.9, 279.4)] {
        let options = PrintOptions {
            paper,
            orientation: Orientation::Portrait,
            ..PrintOptions::default()
        };
        let layout = Layout::of(&game.scenario().table, &options).unwrap();
        let file = pdf(&game, &options).unwrap();
        assert!(file.starts_with(b"%PDF-1."));
        let text = String::from_utf8_lossy(&file);
        let boxes: Vec<Vec<f64>> = text
            .split("/MediaBox [")
            .skip(1)
            .map(|rest| operands(rest.split(']').next().unwrap_or("")))
            .collect();
        assert_eq!(boxes.len() as u64, layout.count() + 1);
        for media in boxes {
            assert!((media[2] / POINTS - width_mm).abs() < 1e-3, "{media:?}");
            assert!((media[3] / POINTS - height_mm).abs() < 1e-3, "{media:?}");
        }
        assert_eq!(streams(&file).len() as u64, layout.count() + 1);
    }
}

/// Each page is drawn in millimetres: one scaling first, and the bar on the first page is as long
/// as it says.
#[test]
fn the_bars_on_the_first_page_are_as_long_as_they_say() {
    let file = pdf(&sample::game(), &PrintOptions::default()).unwrap();
    let streams = streams(&file);
    for stream in &streams {
        let scaling = stream.lines().next().unwrap_or("");
        assert!(scaling.ends_with(" cm"), "{scaling}");
        let matrix = operands(scaling);
        for scale in [matrix[0], matrix[3]] {
            // single precision carries seven digits
            assert!((scale - POINTS).abs() < 1e-6, "{scale}");
        }
    }
    let mut ends = Vec::new();
    let mut from = Vec::new();
    for line in streams[0].lines() {
        if line.ends_with(" m") {
            from = operands(line);
        } else if line.ends_with(" l") && from.len() == 2 {
            let to = operands(line);
            if (from[1] - to[1]).abs() < 1e-9 {
                ends.push(to[0] - from[0]);
            }
        }
    }
    assert!(
        ends.iter().any(|long| (long - 100.0).abs() < 1e-3),
        "{ends:?}"
    );
    assert!(
        ends.iter().any(|long| (long - 101.6).abs() < 1e-3),
        "{ends:?}"
    );
}

/// A unit's front left corner is on every sheet whose window holds it, at the place of the paper
/// that the sheet's window says.
#[test]
fn what_stands_on_the_table_is_where_the_paper_should_have_it() {
    let game = sample::game();
    let options = PrintOptions::default();
    let layout = Layout::of(&game.scenario().table, &options).unwrap();
    let file = pdf(&game, &options).unwrap();
    let pages = streams(&file);
    let mut found = 0;
    for unit in game.on_table() {
        let corner = unit.footprint().unwrap().corners()[0];
        for (sheet, page) in layout.sheets().zip(&pages[1..]) {
            if !sheet.window.holds(corner, -1.0) {
                continue;
            }
            let x = corner.x - sheet.window.west_mm + layout.margin_mm;
            let y = corner.y - sheet.window.south_mm + layout.margin_mm;
            let is_drawn = page.lines().any(|line| {
                let at = operands(line);
                (line.ends_with(" m") || line.ends_with(" l"))
                    && (at[0] - x).abs() < 1e-3
                    && (at[1] - y).abs() < 1e-3
            });
            assert!(is_drawn, "{} on {}", unit.id, sheet.name);
            found += 1;
        }
    }
    assert!(found >= game.on_table().count(), "{found}");
}

#[test]
fn the_same_table_is_the_same_file_and_options_leave_things_out() {
    let game = sample::game();
    let with = |units, tints| {
        pdf(
            &game,
            &PrintOptions {
                units,
                tints,
                ..PrintOptions::default()
            },
        )
        .unwrap()
    };
    assert_eq!(with(true, true), with(true, true));
    assert!(with(false, true).len() < with(true, true).len());
    let mark = "(R3) Tj";
    let shows = |file: Vec<u8>| String::from_utf8_lossy(&file).contains(mark);
    assert!(shows(with(true, false)) && !shows(with(false, false)));
}

#[test]
fn names_from_people_stay_words() {
    let mut scenario = sample::scenario();
    let bad = "(Foot) \\ ) Tj ET Q\n%\u{1b}[2J Éclaireurs 騎兵";
    scenario.unit[0].name = bad.to_owned();
    scenario.terrain[0].name = bad.to_owned();
    let file = pdf(&sample::open(scenario), &PrintOptions::default()).unwrap();
    let page = &streams(&file)[1..].join("\n");
    let saves = page.lines().filter(|line| *line == "q").count();
    let restores = page.lines().filter(|line| *line == "Q").count();
    assert_eq!(saves, restores);
    assert_eq!(encoded("É–騎\u{1b}"), [0xc9, 0x96, b'?', b'?']);
}

/// The widths are those of the standard face: figures are 0.556 wide (Adobe's core metrics).
#[test]
fn words_are_as_wide_as_the_face_sets_them() {
    assert!((width("0000", 10.0, false) - 22.24).abs() < 1e-9);
}
