//! The moves of a turn, as a player tells them.

use super::agreement::{agreed, is_plural};
use crate::compass;
use crate::places::{called, near, side_name};
use fieldpost_rules::game::{Game, State};
use fieldpost_rules::orders::{Order, TurnSheet};
use fieldpost_rules::sanitize::listed;
use fieldpost_rules::scenario::Edge;
use fieldpost_rules::verdict::rounding::{UNSEEN, tenths_short};
use fieldpost_rules::verdict::{LegLedger, MoveVerdict, Place, Ruling, SheetVerdict};

/// The moves of an accepted sheet, a sentence each; units that did the same share one.
pub(super) fn moves(sheet: &TurnSheet, verdict: &SheetVerdict, game: &Game) -> String {
    let moved: Vec<&MoveVerdict> = verdict
        .moves
        .iter()
        .filter(|moved| moved.legs.iter().any(is_done) || comes_on(moved, game).is_some())
        .collect();
    let side = side_name(game, game.player());
    if moved.is_empty() {
        let does = without_moves(sheet, &side);
        return format!("Game turn {}: {side} {does}.", game.game_turn());
    }
    let moves = agreed(&side, "moves", "move");
    let mut out = format!("Game turn {}: {side} {moves}.", game.game_turn());
    let mut rest = moved.as_slice();
    while let Some(first) = rest.first() {
        let same = rest
            .iter()
            .take_while(|other| is_same_deed(first, other, game))
            .count();
        let (now, after) = rest.split_at(same);
        out.push_str(&format!("\n  {}", deed(now, game)));
        rest = after;
    }
    out
}

/// What a side does whose units make no move: who attacks or fires does not merely stand.
fn without_moves(sheet: &TurnSheet, side: &str) -> &'static str {
    let orders = |kind: fn(&Order) -> bool| sheet.orders.iter().any(kind);
    if orders(|order| matches!(order, Order::Battle { .. })) {
        agreed(side, "attacks without moving", "attack without moving")
    } else if orders(|order| matches!(order, Order::Fire { .. })) {
        agreed(side, "fires without moving", "fire without moving")
    } else if orders(|order| matches!(order, Order::Leave { .. })) {
        agreed(side, "moves", "move")
    } else {
        agreed(side, "stands", "stand")
    }
}

/// The edge that a unit comes on over, if it was not on the table before.
fn comes_on(moved: &MoveVerdict, game: &Game) -> Option<&'static str> {
    let State::Waiting(arrival) = &game.unit(&moved.unit)?.state else {
        return None;
    };
    Some(match arrival.edge {
        Edge::North => "north",
        Edge::East => "east",
        Edge::South => "south",
        Edge::West => "west",
    })
}

fn is_same_deed(first: &MoveVerdict, other: &MoveVerdict, game: &Game) -> bool {
    deeds(first, true, game) == deeds(other, true, game)
        && first.verdict == other.verdict
        && turned(first).map(|end| compass::point(end.bearing_deg))
            == turned(other).map(|end| compass::point(end.bearing_deg))
}

/// Whether there was anything to a leg: an *up to* that was stopped where it began is none.
fn is_done(leg: &LegLedger) -> bool {
    let goes_along_a_tape =
        ["forward", "back", "sidestep", "oblique", "wheel"].contains(&leg.leg.as_str());
    !goes_along_a_tape || leg.tape_mm >= UNSEEN
}

/// What a unit did, in order: one that was not on the table comes on before it moves there.
fn deeds(moved: &MoveVerdict, many: bool, game: &Game) -> Vec<String> {
    let comes = if many { "come" } else { "comes" };
    let arrival = comes_on(moved, game).map(|edge| format!("{comes} on over the {edge} edge"));
    let done = moved.legs.iter().filter(|leg| is_done(leg));
    arrival
        .into_iter()
        .chain(done.map(|leg| did(leg, moved, many)))
        .collect()
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
    let mut out = format!(
        "{} {}",
        listed(&names),
        deeds(first, many, game).join(", then ")
    );
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
        "oblique" => format!("{}{side}{angle} {tape}", verb("obliques", "oblique")),
        "wheel" => format!("{}{side}{angle}", verb("wheels", "wheel")),
        "turn" => format!("{}{side}", verb("turns", "turn")),
        "about" => format!("{} about", verb("turns", "turn")),
        "align" => format!("{}{side}{angle}", verb("aligns", "align")),
        "reform" => format!("{} {} abreast", verb("reforms", "reform"), moved.files),
        _ => super::figures::leg_name(leg),
    }
}
