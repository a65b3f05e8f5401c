//! The referee's answer beside the second reading's, and how they differ.

use std::collections::BTreeMap;
use std::sync::Arc;

use fieldpost_rules::game::Game;
use fieldpost_rules::orders::{Order, SideId, TurnSheet};
use fieldpost_rules::referee;
use fieldpost_rules::verdict::SheetVerdict;
use serde_json::Value;

use crate::cases::{Case, legs_of};
use crate::moves::{Ruled, Ruling};
use crate::sheets::{carry_out, movers};
use crate::table::Table;

/// Figures agree within this many millimetres.
const WITHIN_MM: f64 = 0.02;

/// Charges, whose rates multiply what the ground's edges leave open, within this many.
const CHARGE_MM: f64 = 0.06;

/// A difference, or that there is none.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Outcome {
    Agree,
    /// They differ, and a judged value lies within 0.01 mm of its threshold.
    Excused(String),
    /// They differ: the kind of difference.
    Differ(String),
}

/// Both answers to one order.
pub struct Answers {
    pub outcome: Outcome,
    pub referee: String,
    pub second: String,
    pub ruling: Ruling,
}

/// One move as the referee ruled: of a body all units' verdicts together.
struct Theirs {
    ruling: Ruling,
    /// Worst ruling, excesses and places of each code.
    codes: BTreeMap<String, (Ruling, Vec<f64>, Vec<(usize, f64)>)>,
    charge_mm: f64,
    tapes: Vec<f64>,
    end: Option<[f64; 3]>,
}

fn ruling(word: &Value) -> Ruling {
    match word.as_str() {
        Some("refused") => Ruling::Refused,
        Some("marginal") => Ruling::Marginal,
        _ => Ruling::Legal,
    }
}

fn theirs(sheet: &Value, order: usize) -> Option<Theirs> {
    let moves = sheet["moves"].as_array()?;
    let own: Vec<&Value> = moves.iter().filter(|m| m["order"] == order).collect();
    let first = own.first()?;
    let mut codes = BTreeMap::new();
    for reason in own
        .iter()
        .flat_map(|m| m["reasons"].as_array().into_iter().flatten())
    {
        let code = reason["code"].as_str().unwrap_or_default().to_owned();
        let entry = codes
            .entry(code)
            .or_insert((Ruling::Legal, Vec::new(), Vec::new()));
        entry.0 = entry.0.max(ruling(&reason["ruling"]));
        entry.1.extend(
            reason["excess_mm"]
                .as_f64()
                .or(reason["excess_deg"].as_f64()),
        );
        if let (Some(leg), Some(along)) = (
            reason["at"]["leg"].as_u64(),
            reason["at"]["along_mm"].as_f64(),
        ) {
            entry.2.push((leg as usize, along));
        }
    }
    let end = &first["end"];
    let figure = |key: &str| end[key].as_f64();
    Some(Theirs {
        ruling: own.iter().map(|m| ruling(&m["verdict"])).max()?,
        codes,
        charge_mm: first["charge_mm"].as_f64()?,
        tapes: first["legs"]
            .as_array()?
            .iter()
            .filter_map(|leg| leg["tape_mm"].as_f64())
            .collect(),
        end: figure("x_mm")
            .zip(figure("y_mm"))
            .zip(figure("bearing_deg"))
            .map(|((x, y), b)| [x, y, b]),
    })
}

/// The referee's verdict on all orders of a case as one sheet.
pub fn verdict(game: &Game, orders: &[Order]) -> SheetVerdict {
    let sheet = TurnSheet {
        game_turn: 1,
        side: SideId::from("red"),
        orders: orders.to_vec(),
    };
    referee::judge_sheet(game, &sheet)
}

/// The same as data.
pub fn sheet(game: &Game, orders: &[Order]) -> Value {
    serde_json::to_value(verdict(game, orders)).unwrap()
}

/// Judges a case both ways, order by order up to the first one that is refused.
pub fn judge(case: &Case) -> Option<Answers> {
    let field = Arc::new(case.open()?);
    let game = Game::new(Arc::clone(&field));
    let answer = sheet(&game, &case.orders);
    let mut table = Table::new(&field);
    let mut answers = None;
    for (n, order) in case.orders.iter().enumerate() {
        let body = movers(&table, order).is_some_and(|(units, _)| units.len() > 1);
        let ours = carry_out(&mut table, order)?;
        let theirs = theirs(&answer, n)?;
        let differences = differences(&theirs, &ours, body);
        let outcome = match differences.first() {
            None => Outcome::Agree,
            Some(what) => match near(&ours, what, case.lattice, order) {
                Some(near) => Outcome::Excused(format!("{what} [{near}]")),
                None => Outcome::Differ(what.clone()),
            },
        };
        let stop = outcome != Outcome::Agree || ours.ruling() == Ruling::Refused;
        answers = Some(Answers {
            outcome,
            referee: told(&answer, n),
            second: format!(
                "{:?} charge {:.3} of {} tapes {:.3?} {}",
                ours.ruling(),
                ours.charge_mm,
                ours.allowance_mm,
                ours.tapes,
                ours.reasons
                    .iter()
                    .map(|r| format!(
                        "{} {:?} {:?} at {:?} ({})",
                        r.code, r.ruling, r.excess, r.at, r.about
                    ))
                    .collect::<Vec<_>>()
                    .join("; ")
            ),
            ruling: ours.ruling(),
        });
        if stop {
            break;
        }
    }
    answers
}

/// Whether a near threshold excuses: never on a lattice, where all is exact, and a difference of charges
/// only by what charges depend on.
fn near(ours: &Ruled, what: &str, lattice: bool, order: &Order) -> Option<String> {
    use fieldpost_rules::orders::Leg;
    let square = |leg: &Leg| {
        !matches!(
            leg,
            Leg::Wheel { .. } | Leg::Align { .. } | Leg::Oblique { .. }
        )
    };
    if lattice && legs_of(order).iter().all(square) {
        // exact, but which side of a line lies beyond its end the laws leave open
        let end = ours
            .near
            .iter()
            .any(|(about, _)| about.contains("passes its end"));
        return end.then(|| "line: tape passes its end".to_owned());
    }
    let of_charges = [
        "charge",
        "excess of over",
        "over-allowance too",
        "no over-all",
        "place of over",
    ];
    let charges = [
        "farther",
        "locked sum",
        "begins in",
        "up to",
        "allowance",
        "fee",
        "minimum",
        "line",
    ];
    let by_charge = of_charges.iter().any(|kind| what.starts_with(kind));
    let relevant = |about: &str| !by_charge || charges.iter().any(|word| about.contains(word));
    let least = ours.near.iter().find(|(about, _)| relevant(about))?;
    Some(plain(&least.0))
}

fn told(answer: &Value, order: usize) -> String {
    let moves = answer["moves"].as_array().into_iter().flatten();
    moves
        .filter(|m| m["order"] == order)
        .map(|m| {
            let reasons = m["reasons"].as_array().into_iter().flatten();
            let reasons: Vec<String> = reasons
                .map(|r| {
                    let excess = if r["excess_mm"].is_null() {
                        &r["excess"]
                    } else {
                        &r["excess_mm"]
                    };
                    format!(
                        "{} {} {} at {}/{}: {}",
                        r["code"],
                        r["ruling"],
                        excess,
                        r["at"]["leg"],
                        r["at"]["along_mm"],
                        r["text"]
                    )
                })
                .collect();
            let tapes: Vec<&Value> = m["legs"]
                .as_array()
                .into_iter()
                .flatten()
                .map(|leg| &leg["tape_mm"])
                .collect();
            format!(
                "{} {} charge {} of {} tapes {tapes:?} {}",
                m["unit"],
                m["verdict"],
                m["charge_mm"],
                m["allowance_mm"],
                reasons.join("; ")
            )
        })
        .collect::<Vec<_>>()
        .join(" | ")
}

/// What a reason or a measure is about, without the names and numbers of one case.
fn plain(about: &str) -> String {
    let about = about.split(" in leg").next().unwrap_or_default();
    let about = about.split(" blue-").next().unwrap_or_default();
    let about = about.split(" red-").next().unwrap_or_default();
    about
        .chars()
        .filter(|c| !c.is_ascii_digit() && !"()".contains(*c))
        .collect()
}

/// What differs, the gravest first.
fn differences(theirs: &Theirs, ours: &Ruled, body: bool) -> Vec<String> {
    let mut all = Vec::new();
    if theirs.ruling != ours.ruling() {
        let codes = |codes: Vec<&str>| codes.join("+");
        let mine = codes(ours.reasons.iter().map(|r| r.code).collect());
        let yours = codes(theirs.codes.keys().map(String::as_str).collect());
        all.push(format!(
            "{:?} ({yours}) for {:?} ({mine})",
            theirs.ruling,
            ours.ruling()
        ));
    }
    // an align that cannot be may be too wide as well: the laws leave open whether that is told
    let cannot_be = ours.reasons.iter().any(|r| r.code == "not-possible");
    // where an up to leg ends that is banned or follows what is refused is nowhere said, nor what comes of it
    let open = ours.banned_up_to || ours.up_to_after_refusal;
    if open || ours.reasons.iter().any(|r| r.about == "order") {
        return all;
    }
    for reason in &ours.reasons {
        match theirs.codes.get(reason.code) {
            None => all.push(format!("no {} ({})", reason.code, plain(&reason.about))),
            Some((ruling, excesses, places)) => {
                if *ruling != reason.ruling {
                    all.push(format!(
                        "{} {ruling:?} for {:?}",
                        reason.code, reason.ruling
                    ));
                }
                let most = excesses.iter().copied().fold(f64::NEG_INFINITY, f64::max);
                if reason.excess.is_some_and(|excess| {
                    !excesses.is_empty()
                        && (excess - most).abs()
                            > if reason.code == "over-allowance" {
                                CHARGE_MM
                            } else {
                                WITHIN_MM
                            }
                }) {
                    all.push(format!(
                        "excess of {} ({})",
                        reason.code,
                        plain(&reason.about)
                    ));
                }
                let place = reason
                    .at
                    .filter(|_| !body && reason.excess.is_some() && ours.reasons.len() == 1);
                if let Some((leg, along)) = place {
                    let fits = places
                        .iter()
                        .any(|p| p.0 == leg && (p.1 - along).abs() < 0.05);
                    if !places.is_empty()
                        && !fits
                        && reason.code != "angle-too-large"
                        && along > 0.0
                    {
                        all.push(format!("place of {}", reason.code));
                    }
                }
            }
        }
    }
    let open = |code: &&String| !(cannot_be && code.as_str() == "angle-too-large");
    let more = theirs
        .codes
        .keys()
        .filter(open)
        .filter(|code| !ours.reasons.iter().any(|r| r.code == code.as_str()));
    all.extend(more.map(|code| format!("{code} too many")));
    if (theirs.charge_mm - ours.charge_mm).abs() > CHARGE_MM {
        all.push("charge".to_owned());
    }
    for (leg, (is, should)) in theirs.tapes.iter().zip(&ours.tapes).enumerate() {
        if !body && (is - should).abs() > WITHIN_MM {
            all.push(format!("tape of leg {}", leg + 1));
        }
    }
    if let (Some([x, y, _]), Some(end)) = (theirs.end, ours.ends.first()) {
        if (x - end.anchor.x).abs() > WITHIN_MM || (y - end.anchor.y).abs() > WITHIN_MM {
            all.push("end".to_owned());
        }
    }
    all
}
