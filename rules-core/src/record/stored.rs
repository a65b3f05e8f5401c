//! Records of whole battles, kept: they replay to the same table and every measurement comes out
//! to the same bit, in every build and on every platform.

use sha2::{Digest, Sha256};

use super::audit::{Line, audit};
use crate::game::{Game, State};
use crate::geometry::{Motion, signed_distance_mm, spans_over, spans_within};
use crate::orders::{Order, TurnSheet};
use crate::referee::judge_sheet;
use crate::referee::testing::sheet;
use crate::referee::wild::{Draws, wild_game, wild_orders};

/// A battle for each shipped ruleset, fought to its end by automatic commanders.
const STORED: [&str; 3] = ["quern-bridge", "three-cairns", "saltway-ridge"];

/// Where a stored file is. Asked as the test runs, so that any build of it can be asked.
fn path(name: &str) -> std::path::PathBuf {
    std::path::Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("records")
        .join(name)
}

fn kept(name: &str) -> String {
    std::fs::read_to_string(path(name)).expect("a file of the project")
}

/// The line that must stand in the list of hashes.
fn check(found: &[String]) {
    let hashes = kept("hashes.txt");
    let missing: Vec<&String> = found
        .iter()
        .filter(|line| !hashes.lines().any(|kept| kept == *line))
        .collect();
    assert!(missing.is_empty(), "records/hashes.txt lacks {missing:#?}");
}

/// A hash of everything about a table: where every unit is to the micrometre, and what it has left.
fn table_hash(game: &Game) -> String {
    let mut hash = Sha256::new();
    for unit in game.units() {
        let place = match unit.state {
            State::Standing(pose) => {
                format!("{} {} {}", pose.x_um, pose.y_um, pose.bearing_udeg)
            }
            State::Waiting(_) => "waiting".to_owned(),
            State::Gone(cause) => format!("{cause:?}"),
        };
        let line = format!(
            "{} {place} {} {} {}\n",
            unit.id, unit.files, unit.bases, unit.disorder
        );
        hash.update(line);
    }
    hash.update(format!("{:?} {:?}", game.holders(), game.exit_points()));
    hex::encode(hash.finalize())
}

#[test]
fn stored_records_replay_to_the_same_table() {
    check(&tables());
}

/// The head of each stored record and the table that it leaves.
fn tables() -> Vec<String> {
    let mut found = Vec::new();
    for key in STORED {
        let lines: Vec<Line> = kept(&format!("{key}.ndjson"))
            .lines()
            .map(|line| serde_json::from_str(line).expect("a line of a record"))
            .collect();
        let audited = audit(&lines).unwrap_or_else(|fault| panic!("{fault}"));
        assert!(audited.game.ending().is_some() && audited.moves + audited.moves_as_recorded > 50);
        found.push(format!("{key} head {}", hex::encode(audited.head)));
        found.push(format!("{key} table {}", table_hash(&audited.game)));
    }
    found
}

/// A battle of the first form of the dice, kept as it was recorded then: it is audited by that form.
#[test]
fn a_record_of_format_1_is_audited_by_the_first_form_of_the_dice() {
    let kept = kept("format-1/three-cairns.ndjson");
    let lines: Vec<Line> = kept
        .lines()
        .map(|line| serde_json::from_str(line).expect("a line of a record"))
        .collect();
    let audited = audit(&lines).unwrap_or_else(|fault| panic!("{fault}"));
    assert!(audited.game.ending().is_some() && audited.throws > 3);
    assert!(!audited.must_be_signed && audited.signed + audited.unsigned == 0);
    let of_die = |line: &Line| {
        let at = line.body.find("\"dice\":[")?;
        Some(line.body[at..at + 9].to_owned())
    };
    let die = lines.iter().find_map(of_die).expect("somebody throws");
    let other = if die.ends_with('1') { "2" } else { "1" };
    let fault = audit(&forged(&lines, &die, &format!("\"dice\":[{other}")));
    assert!(fault.is_err(), "{die}");
}

/// A record with one text in it changed, and its chain made to hold again.
fn forged(lines: &[Line], from: &str, to: &str) -> Vec<Line> {
    let mut previous = hex::encode(super::BEFORE_THE_FIRST);
    let mut forged = Vec::new();
    for line in lines {
        let mut body = line.body.replace(from, to);
        let at = body.find("\"previous\":\"").expect("it has one") + 12;
        body.replace_range(at..at + 64, &previous);
        previous = hex::encode(super::hash_of(body.as_bytes()));
        forged.push(Line {
            number: line.number,
            hash: previous.clone(),
            body,
        });
    }
    forged
}

/// A record of laws 1 says of what was allowed within the tolerance that it is "0.0 mm"; today's sentences show how much
/// it is. Both are what the figures say. Anything else is no sentence of theirs.
#[test]
fn sentences_of_earlier_versions_are_accepted_and_forged_ones_are_not() {
    let kept = kept("laws-1/quern-bridge.ndjson");
    let lines: Vec<Line> = kept
        .lines()
        .map(|line| serde_json::from_str(line).expect("a line of a record"))
        .collect();
    let earlier = "It ends overlapping blue-4 by 0.0 mm.";
    assert!(kept.contains(earlier), "the record has no such sentence");
    audit(&forged(&lines, "no such text", "")).expect("the chain holds and nothing was changed");
    let fault = audit(&forged(
        &lines,
        earlier,
        "It ends overlapping blue-4 by 9.0 mm.",
    ));
    let fault = fault
        .expect_err("a sentence that no version wrote")
        .to_string();
    assert!(
        fault.contains("played again") || fault.contains("canonical"),
        "{fault}"
    );
}

/// Numbers as their bits; all zeros alike, for −0.0 is no other number.
fn add(hash: &mut Sha256, number: f64) {
    let number = if number == 0.0 { 0.0 } else { number };
    hash.update(number.to_bits().to_be_bytes());
}

fn judged(hash: &mut Sha256, game: &Game, orders: Vec<Order>) {
    let sheet = TurnSheet {
        orders,
        ..sheet(vec![])
    };
    for moved in judge_sheet(game, &sheet).moves {
        add(hash, moved.charge_mm);
        for leg in &moved.legs {
            add(hash, leg.tape_mm);
            leg.pieces
                .iter()
                .for_each(|piece| add(hash, piece.charge_mm));
            leg.lines.iter().for_each(|line| add(hash, line.at_mm));
        }
        for reason in &moved.reasons {
            hash.update(reason.code().as_str());
            add(hash, reason.excess());
            if let Some(at) = reason.place_on_path() {
                add(hash, at.along_mm);
                add(hash, at.x_mm);
                add(hash, at.bearing_deg);
            }
        }
        for remedy in &moved.remedies {
            hash.update(&remedy.words);
        }
        if let Some(pose) = moved.end_pose {
            hash.update(format!("{} {} {}", pose.x_um, pose.y_um, pose.bearing_udeg));
        }
    }
}

/// Distances, sweeps and overlaps of every pair on a table, as full numbers.
fn measured(hash: &mut Sha256, game: &Game, draws: &mut Draws) {
    let grounds: Vec<_> = game
        .on_table()
        .filter_map(crate::game::Unit::footprint)
        .collect();
    for one in &grounds {
        let motions = [
            Motion::Straight {
                by: one.ahead.turned(draws.between(-3.0, 3.0)) * draws.between(0.0, 300.0),
            },
            Motion::Turn {
                pivot: one.front_left(),
                clockwise_rad: draws.between(-3.0, 3.0),
            },
        ];
        for other in &grounds {
            add(hash, signed_distance_mm(one, other));
            for motion in &motions {
                for span in spans_within(one, motion, other, 20.0) {
                    add(hash, span.from);
                    add(hash, span.to);
                }
            }
        }
        for patch in &game.ground().patches {
            for motion in &motions {
                for span in spans_over(one, motion, &patch.outline) {
                    add(hash, span.from);
                    add(hash, span.to);
                }
            }
        }
    }
}

/// Not only what is rounded and stored: what was measured on the way there.
#[test]
fn measurements_are_the_same_to_the_bit() {
    check(&[measurements()]);
}

fn measurements() -> String {
    let mut hash = Sha256::new();
    for seed in 0..150 {
        let mut draws = Draws::new(seed);
        let game = wild_game(&mut draws);
        let orders = wild_orders(&mut draws, &game);
        measured(&mut hash, &game, &mut draws);
        judged(&mut hash, &game, orders);
    }
    format!("measurements {}", hex::encode(hash.finalize()))
}

/// After a change of the laws, when the stored battles have been fought anew.
#[test]
#[ignore = "writes the list of hashes anew"]
fn write_the_hashes_anew() {
    let mut hashes = tables();
    hashes.push(measurements());
    std::fs::write(path("hashes.txt"), hashes.join("\n") + "\n").expect("written");
}
