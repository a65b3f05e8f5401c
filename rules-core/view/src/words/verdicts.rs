//! Verdicts in words: the ruling, the ledger, the reasons, the remedies.

use crate::compass;
use crate::places::called;
use fieldpost_rules::game::Game;
use fieldpost_rules::orders::{Order, UnitId, print};
use fieldpost_rules::sanitize::{listed, plain};
use fieldpost_rules::verdict::rounding::{amount, apart, bearing, centimetres, tenths};
use fieldpost_rules::verdict::{
    BattleVerdict, LegLedger, MoveVerdict, Place, Reason, Ruling, SheetVerdict,
};

use super::agreement::verb_of;
use super::{charges, figures};

/// The verdict on a whole sheet: a line first, then every move and battle, then what is wrong
/// with the sheet as a whole.
#[must_use]
pub fn sheet_verdict(verdict: &SheetVerdict, game: &Game) -> String {
    let refused = verdict
        .all_reasons()
        .filter(|reason| reason.ruling() == Ruling::Refused)
        .count();
    let head = match (verdict.verdict, refused) {
        (Ruling::Legal, _) => "The sheet is legal.".to_owned(),
        (Ruling::Marginal, _) => {
            "The sheet is allowed; some of it only within the tolerance.".to_owned()
        }
        (Ruling::Refused, 1) => "The sheet is refused, for one reason. Nothing moves.".to_owned(),
        (Ruling::Refused, count) => {
            format!("The sheet is refused, for {count} reasons. Nothing moves.")
        }
    };
    let mut parts = vec![format!("{head}\n")];
    if verdict.moves.is_empty() && verdict.battles.is_empty() && refused == 0 {
        parts.push("  It orders nothing: every unit stands, and the turn passes.\n".to_owned());
    }
    if !verdict.reasons.is_empty() {
        parts.push(reasons(&verdict.reasons, game));
    }
    parts.extend(verdict.moves.iter().map(|moved| move_verdict(moved, game)));
    parts.extend(
        verdict
            .battles
            .iter()
            .map(|battle| battle_verdict(battle, game)),
    );
    parts.extend(verdict.completion.as_ref().map(|orders| would_do(orders)));
    parts.join("\n")
}

/// The battles that would be accepted instead of a refused declaration, as they would be typed.
fn would_do(orders: &[Order]) -> String {
    if orders.is_empty() {
        return "Would do: no battle at all.\n".to_owned();
    }
    let lines = orders
        .iter()
        .map(|order| format!("  {}\n", plain(&print::order(order))));
    format!(
        "Would do, as the battles of this sheet:\n{}",
        lines.collect::<String>()
    )
}

/// The verdict on one move with its ledger.
#[must_use]
pub fn move_verdict(verdict: &MoveVerdict, game: &Game) -> String {
    let mut out = format!(
        "Order {}, {} ({}): {}\n",
        verdict.order + 1,
        called(game, &verdict.unit),
        plain(&verdict.unit.0),
        verdict.verdict.word()
    );
    out.push_str(&reasons(&verdict.reasons, game));
    out.push_str(&charges::what_was_dear(verdict, game));
    if !verdict.legs.is_empty() {
        out.push_str(&figures::ledger(verdict));
    }
    for (index, leg) in verdict.legs.iter().enumerate() {
        if let Some(why) = &leg.stopped_by {
            out.push_str(&format!(
                "  As far as it goes: {}. What stops it: {}{}.\n",
                figures::leg_name(leg),
                plain(why),
                charges::not_paid(verdict, index, game)
            ));
        } else if is_nothing(leg) {
            out.push_str(&format!("  Leg {} goes nowhere.\n", index + 1));
        }
    }
    if verdict.verdict == Ruling::Refused {
        if let Some(place) = &verdict.furthest {
            out.push_str(&format!("  Furthest legal: {}.\n", standing(place)));
        }
        for remedy in &verdict.remedies {
            out.push_str(&format!(
                "  Would do: {}.\n",
                plain(&remedy.words).trim_end_matches('.')
            ));
        }
    } else if let Some(place) = &verdict.end {
        out.push_str(&format!("  It ends {}.\n", standing(place)));
    }
    out
}

/// Whether a leg of a kind that goes along a tape, or aligns, was ordered to do nothing.
fn is_nothing(leg: &LegLedger) -> bool {
    match leg.leg.as_str() {
        "forward" | "back" | "sidestep" | "oblique" | "wheel" => leg.tape_mm == 0.0,
        "align" => leg.angle_deg == Some(0.0),
        _ => false,
    }
}

/// "41.23 cm from the west edge and 23.31 cm from the south, facing north-east (45.0°)".
pub(crate) fn standing(place: &Place) -> String {
    format!(
        "{} cm from the west edge and {} cm from the south, facing {} ({}°)",
        centimetres(place.x_mm),
        centimetres(place.y_mm),
        compass::point(place.bearing_deg),
        bearing(place.bearing_deg)
    )
}

/// The sentence, with the other party by name where it is a unit.
pub(crate) fn sentence(reason: &Reason, game: &Game) -> String {
    let named = reason
        .other()
        .filter(|other| game.unit(&UnitId::from(*other)).is_some())
        .map(|other| {
            reason
                .clone()
                .with(format!("{} ({other})", called(game, &UnitId::from(other))))
        });
    plain(&named.as_ref().unwrap_or(reason).text())
}

fn reasons(reasons: &[Reason], game: &Game) -> String {
    reasons
        .iter()
        .map(|reason| {
            let ruling = match reason.ruling() {
                Ruling::Marginal => "within tolerance",
                Ruling::Legal | Ruling::Refused => "refused",
            };
            let place = reason.place_on_path().map_or_else(String::new, |at| {
                format!(
                    " Reached {} mm into leg {}.",
                    tenths(at.along_mm),
                    at.leg + 1
                )
            });
            format!("  {ruling}: {}{place}\n", sentence(reason, game))
        })
        .collect()
}

/// The verdict on one battle or gun fire.
#[must_use]
pub fn battle_verdict(verdict: &BattleVerdict, game: &Game) -> String {
    let names = |ids: &[UnitId]| listed(&ids.iter().map(|id| called(game, id)).collect::<Vec<_>>());
    let mut out = format!("Order {}, ", verdict.order + 1);
    if verdict.attackers.is_empty() {
        out.push_str(&format!(
            "{} {} at {}",
            names(&verdict.guns),
            verb_of(&verdict.guns, "fires", "fire", game),
            names(&verdict.defenders)
        ));
    } else {
        out.push_str(&format!(
            "{} against {}",
            names(&verdict.attackers),
            names(&verdict.defenders)
        ));
        if !verdict.guns.is_empty() {
            out.push_str(&format!(", bombarded by {}", names(&verdict.guns)));
        }
    }
    out.push_str(&format!(": {}\n", verdict.verdict.word()));
    out.push_str(&reasons(&verdict.reasons, game));
    out.push_str(&distances(verdict, game));
    if let Some(odds) = &verdict.odds {
        out.push_str(&format!(
            "  {} against {}: column {}",
            amount(odds.attack),
            amount(odds.defence),
            plain(&odds.column_before_shifts)
        ));
        if odds.column != odds.column_before_shifts {
            out.push_str(&format!(", shifted to {}", plain(&odds.column)));
        }
        let shifts: Vec<String> = odds.shifts.iter().map(|shift| plain(shift)).collect();
        if !shifts.is_empty() {
            out.push_str(&format!(" ({})", shifts.join("; ")));
        }
        out.push_str(".\n");
    }
    out
}

/// Every distance measured, lined up.
fn distances(verdict: &BattleVerdict, game: &Game) -> String {
    let rows: Vec<(String, String, String)> = verdict
        .measured
        .iter()
        .map(|measured| {
            let through = measured.through.as_ref().map_or_else(String::new, |unit| {
                format!(", supporting through {}", called(game, unit))
            });
            let found = apart(measured.distance_mm, measured.limit_mm);
            (
                format!(
                    "{} to {}",
                    called(game, &measured.from),
                    called(game, &measured.to)
                ),
                found.first,
                format!("of {}{through}", found.second),
            )
        })
        .collect();
    let who = rows
        .iter()
        .map(|row| row.0.chars().count())
        .max()
        .unwrap_or(0);
    rows.iter()
        .map(|(pair, distance, limit)| format!("  {pair:<who$}  {distance:>7} mm {limit}\n"))
        .collect()
}
