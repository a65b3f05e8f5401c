//! The moves of a turn, as a player tells them.

use super::agreement::{agreed, is_plural};
use crate::compass;
use crate::places::{called, near, side_name};
use fieldpost_rules::game::Game;
use fieldpost_rules::sanitize::listed;
use fieldpost_rules::verdict::rounding::amount;
use fieldpost_rules::verdict::{LegLedger, MoveVerdict, Place, Ruling, SheetVerdict};

/// The least length of tape that is told: what a tenth of a millimetre shows.
const LEAST_TOLD_MM: f64 = 0.05;

/// The moves of an accepted sheet, a sentence each; units that did the same share one.
pub(super) fn moves(verdict: &SheetVerdict, game: &Game) -> String {
    let moved: Vec<&MoveVerdict> = verdict
        .moves
        .iter()
        .filter(|moved| moved.legs.iter().any(is_done))
        .collect();
    let side = side_name(game, game.player());
    if moved.is_empty() {
        let stands = agreed(&side, "stands", "stand");
        return format!("Game turn {}: {side} {stands}.", game.game_turn());
    }
    let moves = agreed(&side, "moves", "move");
    let mut out = format!("Game turn {}: {side} {moves}.", game.game_turn());
    let mut rest = moved.as_slice();
    while let Some(first) = rest.first() {
        let same = rest
            .iter()
            .take_while(|other| is_same_deed(first, other))
            .count();
        let (now, after) = rest.split_at(same);
        out.push_str(&format!("\n  {}", deed(now, game)));
        rest = after;
    }
    out
}

fn is_same_deed(first: &MoveVerdict, other: &MoveVerdict) -> bool {
    deeds(first, true) == deeds(other, true)
        && first.verdict == other.verdict
        && turned(first).map(|end| compass::point(end.bearing_deg))
            == turned(other).map(|end| compass::point(end.bearing_deg))
}

/// Whether there was anything to a leg: an *up to* that was stopped where it began is none.
fn is_done(leg: &LegLedger) -> bool {
    let goes_along_a_tape =
        ["forward", "back", "sidestep", "oblique", "wheel"].contains(&leg.leg.as_str());
    !goes_along_a_tape || leg.tape_mm >= LEAST_TOLD_MM
}

fn deeds(moved: &MoveVerdict, many: bool) -> Vec<String> {
    let done = moved.legs.iter().filter(|leg| is_done(leg));
    done.map(|leg| did(leg, moved, many)).collect()
}

/// Where a unit that no longer faces as it did came to stand.
fn turned(moved: &MoveVerdict) -> Option<Place> {
    let (start, end) = (moved.start?, moved.end?);
    let turn = (end.bearing_deg - start.bearing_deg).abs();
    (turn > 1.0 && turn < 359.0).then_some(end)
}

/// "First Foot and Duke's Guard advance 120 mm." "Dragoons wheels left 20°, then advances 80 mm, near Mill Bridge."
fn deed(moved: &[&MoveVerdict], game: &Game) -> String {
    let Some(first) = moved.first() else {
        return String::new();
    };
    let names: Vec<String> = moved.iter().map(|one| called(game, &one.unit)).collect();
    let together = moved.len() > 1;
    let many = together || names.iter().all(|name| is_plural(name));
    let mut out = format!("{} {}", listed(&names), deeds(first, many).join(", then "));
    if let Some(end) = turned(first) {
        out.push_str(&format!(", facing {}", compass::point(end.bearing_deg)));
    }
    if !many && let Some(place) = first.end.and_then(|end| near(game, end.placement().anchor)) {
        out.push_str(&format!(", {place}"));
    }
    if first.verdict == Ruling::Marginal {
        out.push_str(", within the tolerance");
    }
    out.push('.');
    out
}

/// One leg as a deed of one unit, or of several.
fn did(leg: &LegLedger, moved: &MoveVerdict, many: bool) -> String {
    let verb = |one: &str, all: &str| if many { all.to_owned() } else { one.to_owned() };
    let side = leg
        .side
        .map_or_else(String::new, |side| format!(" {}", side.word()));
    let tape = format!("{} mm", tenths_short(leg.tape_mm));
    let angle = leg
        .angle_deg
        .map_or_else(String::new, |angle| format!(" {}°", tenths_short(angle)));
    match leg.leg.as_str() {
        "forward" => format!("{} {tape}", verb("advances", "advance")),
        "back" => format!("{} {tape}", verb("steps back", "step back")),
        "sidestep" => format!("{}{side} {tape}", verb("sidesteps", "sidestep")),
        "oblique" => format!("{}{side} {tape}", verb("obliques", "oblique")),
        "wheel" => format!("{}{side}{angle}", verb("wheels", "wheel")),
        "turn" => format!("{}{side}", verb("turns", "turn")),
        "about" => format!("{} about", verb("turns", "turn")),
        "align" => format!("{}{side}{angle}", verb("aligns", "align")),
        "reform" => format!("{} {} abreast", verb("reforms", "reform"), moved.files),
        _ => super::figures::leg_name(leg),
    }
}

/// Tenths, left out where they are nought.
fn tenths_short(value: f64) -> String {
    amount((value * 10.0).round() / 10.0)
}
