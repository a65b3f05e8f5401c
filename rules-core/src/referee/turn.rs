//! A whole turn sheet judged, order by order.

use std::collections::BTreeSet;

use crate::game::{Game, State};
use crate::geometry::{Footprint, signed_distance_mm};
use crate::interruption::{Interrupted, Interruption};
use crate::orders::{Order, TurnSheet, UnitId};
use crate::verdict::{BattleVerdict, Code, MoveVerdict, Reason, Ruling, SheetVerdict};

use super::completion::completion_unless;
use super::movement::{self, Movement, Purpose, TurnStart};
use super::remedies::Sought;
use super::{arrivals, attacks, exits, judged, remedies, withdrawal};

/// Judges a turn sheet without playing it: exactly what [`play`](super::play) would answer.
#[must_use]
pub fn judge_sheet(game: &Game, sheet: &TurnSheet) -> SheetVerdict {
    judge(game, sheet).0
}

/// Judges a turn sheet unless it is interrupted.
///
/// # Errors
/// When it was.
pub fn judge_sheet_unless(
    game: &Game,
    sheet: &TurnSheet,
    interruption: &Interruption,
) -> Result<SheetVerdict, Interrupted> {
    judge_unless(game, sheet, interruption).map(|(verdict, _)| verdict)
}

/// The verdict, and the table as the sheet's moves would leave it.
pub(super) fn judge(game: &Game, sheet: &TurnSheet) -> (SheetVerdict, Game) {
    let judged = Judging::begin(game).whole(sheet);
    judged.conclude()
}

pub(super) fn judge_unless(
    game: &Game,
    sheet: &TurnSheet,
    interruption: &Interruption,
) -> Result<(SheetVerdict, Game), Interrupted> {
    let judged = Judging::begin_unless(game, interruption).whole(sheet);
    // What was judged after the end was told is not what it would have been.
    if interruption.is_due() {
        return Err(Interrupted);
    }
    Ok(judged.conclude())
}

/// The battles that would do instead of a declaration that is refused. None where a move is refused:
/// the table that battles are declared on is then not known.
fn completion(
    judged: &Judging,
    sheet: &TurnSheet,
    battles: &[BattleVerdict],
    duties: &[Reason],
) -> Option<Vec<Order>> {
    let refused = |ruling: Ruling| ruling == Ruling::Refused;
    let falls_short = battles.iter().any(|battle| refused(battle.verdict))
        || duties.iter().any(|duty| refused(duty.ruling()));
    if !falls_short || judged.verdict.all_reasons().any(|r| refused(r.ruling())) {
        return None;
    }
    completion_unless(&judged.table, sheet, &judged.turn.interruption)
}

/// Why the sheet cannot be played now, if it cannot.
pub(super) fn phase_reasons(game: &Game, sheet: &TurnSheet) -> Vec<Reason> {
    if game.ending().is_some() {
        return vec![Reason::count(Code::NotInPhase, 0, 1).note(over(game))];
    }
    let mut reasons = Vec::new();
    let now = game.game_turn();
    if sheet.game_turn != now {
        reasons.push(
            Reason::count(Code::NotInPhase, now, sheet.game_turn).note(format!(
                "the sheet is for game turn {}, and it is game turn {now}",
                sheet.game_turn
            )),
        );
    }
    let player = game.player_side();
    if sheet.side != player {
        reasons.push(
            Reason::count(Code::NotInPhase, 1, 0)
                .with(sheet.side.0.clone())
                .note(format!(
                    "the sheet is for {}, and it is the turn of {player}",
                    sheet.side
                )),
        );
    }
    reasons
}

fn is_refusal(reason: &Reason) -> bool {
    reason.ruling() == Ruling::Refused
}

/// That the game is over, and since when.
fn over(game: &Game) -> String {
    let (turn, last) = (game.game_turn(), game.scenario().game_turns);
    if turn > last {
        return format!("the game ended with game turn {last}");
    }
    let player = game.player_side();
    format!("the game ended before {player} played game turn {turn}")
}

/// A sheet being judged, order by order.
#[derive(Debug, Clone)]
pub(super) struct Judging {
    turn: TurnStart,
    /// The table as the orders so far would leave it.
    pub(super) table: Game,
    ordered: BTreeSet<UnitId>,
    pub(super) verdict: SheetVerdict,
    /// Which remedies are looked for.
    pub(super) remedies: Sought,
}

/// What a sheet being judged was like before an order.
#[derive(Debug)]
pub(super) struct Mark {
    units: Vec<Marked>,
    moves: usize,
    reasons: usize,
}

/// One unit before an order that names it.
#[derive(Debug)]
struct Marked {
    unit: UnitId,
    stood: Option<(State, u16)>,
    was_ordered: bool,
}

impl Judging {
    /// Nothing judged yet.
    pub(super) fn begin(game: &Game) -> Self {
        Self {
            turn: TurnStart::of(game),
            table: game.clone(),
            ordered: BTreeSet::new(),
            verdict: SheetVerdict {
                verdict: Ruling::Legal,
                moves: Vec::new(),
                battles: Vec::new(),
                reasons: Vec::new(),
                completion: None,
            },
            remedies: Sought::All,
        }
    }

    /// The same, which may be interrupted.
    pub(super) fn begin_unless(game: &Game, interruption: &Interruption) -> Self {
        let mut judging = Self::begin(game);
        judging.turn.interruption = interruption.clone();
        judging
    }

    /// Judges every order of a sheet, unless it cannot be played now.
    fn whole(mut self, sheet: &TurnSheet) -> Self {
        self.verdict.reasons = phase_reasons(&self.table, sheet);
        if !self.verdict.reasons.is_empty() {
            return self;
        }
        for (index, order) in sheet.orders.iter().enumerate() {
            if self.turn.interruption.is_due() {
                return self;
            }
            self.order(index, order);
        }
        self.name_who_goes_later(sheet);
        self.declare(sheet);
        self
    }

    /// Judges the battles, once every order has been judged.
    /// Duties are left out where a move is refused: the table that battles are declared on is then not known.
    pub(super) fn declare(&mut self, sheet: &TurnSheet) {
        let interruption = &self.turn.interruption;
        let (battles, mut reasons) = attacks::judge_unless(&self.table, sheet, interruption);
        if self.verdict.all_reasons().any(is_refusal) {
            reasons.clear();
        }
        self.verdict.completion = completion(self, sheet, &battles, &reasons);
        self.verdict.battles = battles;
        self.verdict.reasons.extend(reasons);
    }

    /// Adds to each move that is refused for ending on a friend, where that friend leaves the place by a later order of the
    /// same sheet, that this order should come first.
    fn name_who_goes_later(&mut self, sheet: &TurnSheet) {
        let moves_later = |friend: &UnitId, after: usize| {
            let mut later = sheet.orders.iter().skip(after + 1);
            later.any(|order| order.moves().is_some_and(|units| units.contains(friend)))
        };
        for at in 0..self.verdict.moves.len() {
            let moved = &self.verdict.moves[at];
            if moved.verdict != Ruling::Refused {
                continue;
            }
            let end = moved.end_pose.and_then(|pose| {
                let mut unit = self.table.unit(&moved.unit)?.clone();
                unit.files = moved.files;
                Some(Footprint::new(&pose.placement(), unit.block()))
            });
            let is_left = |friend: &UnitId| {
                let ground = self
                    .table
                    .unit(friend)
                    .and_then(crate::game::Unit::footprint);
                match (&end, ground) {
                    (Some(end), Some(ground)) => signed_distance_mm(end, &ground) >= 0.0,
                    (_, ground) => ground.is_none(),
                }
            };
            let noted: Vec<Reason> = moved
                .reasons
                .iter()
                .map(|reason| {
                    let friend = reason.other().map(UnitId::from);
                    match friend.filter(|_| reason.code() == Code::EndsOnFriend) {
                        Some(friend) if moves_later(&friend, moved.order) && is_left(&friend) => {
                            let note =
                                "it moves away later in this sheet; put that unit's line first";
                            reason.clone().note(note)
                        }
                        _ => reason.clone(),
                    }
                })
                .collect();
            self.verdict.moves[at].reasons = noted;
        }
    }

    /// The verdict on everything judged, and the table after the moves.
    pub(super) fn conclude(self) -> (SheetVerdict, Game) {
        let mut verdict = self.verdict;
        verdict.reasons.sort_by_key(Reason::code);
        let rulings = verdict.all_reasons().map(Reason::ruling);
        verdict.verdict = Ruling::worst(rulings);
        (verdict, self.table)
    }

    /// What the next order may change, to undo it by.
    pub(super) fn mark(&self, order: &Order) -> Mark {
        let units = order.units().into_iter().map(|id| Marked {
            unit: id.clone(),
            stood: self
                .table
                .unit(id)
                .map(|unit| (unit.state.clone(), unit.files)),
            was_ordered: self.ordered.contains(id),
        });
        Mark {
            units: units.collect(),
            moves: self.verdict.moves.len(),
            reasons: self.verdict.reasons.len(),
        }
    }

    /// Every reason found since a mark.
    pub(super) fn reasons_since(&self, mark: &Mark) -> impl Iterator<Item = &Reason> {
        let moves = self.verdict.moves.iter().skip(mark.moves);
        let reasons = self.verdict.reasons.iter().skip(mark.reasons);
        reasons.chain(moves.flat_map(|moved| &moved.reasons))
    }

    /// Undoes the one order judged since a mark was made for it.
    pub(super) fn undo(&mut self, mark: Mark) {
        for marked in mark.units {
            if let Some((state, files)) = marked.stood {
                self.table.suppose(&marked.unit, state, files);
            }
            if !marked.was_ordered {
                self.ordered.remove(&marked.unit);
            }
        }
        self.verdict.moves.truncate(mark.moves);
        self.verdict.reasons.truncate(mark.reasons);
    }

    pub(super) fn order(&mut self, index: usize, order: &Order) {
        match order {
            Order::Move { unit, legs } => {
                let units = std::slice::from_ref(unit);
                self.march(index, units, legs, Purpose::March, Vec::new());
            }
            Order::MoveTogether { units, legs } => {
                self.march(index, units, legs, Purpose::March, Vec::new());
            }
            Order::Withdraw { unit, legs } => {
                let unable = withdrawal::reason(&self.table, unit).into_iter().collect();
                let units = std::slice::from_ref(unit);
                self.march(index, units, legs, Purpose::Withdrawal, unable);
            }
            Order::Arrive {
                unit,
                along_mm,
                legs,
            } => {
                let arrival = arrivals::place(&self.table, unit, *along_mm);
                match arrival.pose {
                    Some(pose) => {
                        let units = std::slice::from_ref(unit);
                        let purpose = Purpose::Arrival(pose);
                        self.march(index, units, legs, purpose, arrival.reasons);
                    }
                    None => self.stay_away(index, unit, arrival.reasons),
                }
            }
            Order::Leave { unit } => self.leave(index, order, unit),
            Order::GiveWay { unit, .. } => {
                let reasons = self.identity_reasons(unit, false);
                self.verdict.reasons.extend(reasons);
            }
            Order::Battle { .. } | Order::Fire { .. } => {}
        }
    }

    /// Judges a move and supposes it made. `unable` are reasons that no other legs would cure.
    fn march(
        &mut self,
        index: usize,
        units: &[UnitId],
        legs: &[crate::orders::Leg],
        purpose: Purpose,
        unable: Vec<Reason>,
    ) {
        let arriving = matches!(purpose, Purpose::Arrival(_));
        let mut faults = Vec::new();
        if units.is_empty() {
            self.verdict
                .reasons
                .push(Reason::count(Code::NoSuchUnit, 1, 0).note("the order names no unit"));
        }
        for unit in units {
            let mut reasons = self.identity_reasons(unit, arriving);
            if !self.ordered.insert(unit.clone()) && reasons.is_empty() {
                reasons.push(Reason::count(Code::MovedAlready, 1, 2).with(unit.0.clone()));
            }
            faults.push((unit.clone(), reasons));
        }
        if faults.iter().any(|(_, reasons)| !reasons.is_empty()) {
            let unmoved = faults
                .into_iter()
                .map(|(unit, reasons)| self.unmoved(index, unit, reasons));
            let unmoved: Vec<MoveVerdict> = unmoved.collect();
            self.verdict.moves.extend(unmoved);
            self.add_to_last(unable);
            return;
        }
        let movers: Vec<_> = units.iter().filter_map(|id| self.table.unit(id)).collect();
        let movement = Movement {
            order: index,
            units: &movers,
            legs,
            purpose,
        };
        let mut verdicts = movement::judge(&self.table, &self.turn, &movement);
        let curable = Ruling::worst(unable.iter().map(Reason::ruling)) != Ruling::Refused;
        if curable {
            let game = &self.table;
            remedies::offer(self.remedies, game, &self.turn, &movement, &mut verdicts);
        }
        for verdict in &verdicts {
            judged::suppose(&mut self.table, None, verdict);
        }
        self.verdict.moves.extend(verdicts);
        self.add_to_last(unable);
    }

    /// An arrival that has no place: of a unit that does not wait to arrive, or nowhere.
    fn stay_away(&mut self, index: usize, unit: &UnitId, unable: Vec<Reason>) {
        let mut reasons = self.identity_reasons(unit, true);
        reasons.extend(unable);
        let verdict = self.unmoved(index, unit.clone(), reasons);
        self.verdict.moves.push(verdict);
    }

    fn leave(&mut self, index: usize, order: &Order, unit: &UnitId) {
        let mut reasons = self.identity_reasons(unit, false);
        if reasons.is_empty() {
            let has_moved = self.ordered.contains(unit);
            reasons.extend(exits::reasons(&self.table, unit, has_moved));
        }
        let verdict = self.unmoved(index, unit.clone(), reasons);
        if Ruling::worst(verdict.reasons.iter().map(Reason::ruling)) != Ruling::Refused {
            self.ordered.insert(unit.clone());
        }
        judged::suppose(&mut self.table, Some(order), &verdict);
        self.verdict.moves.push(verdict);
    }

    /// What is wrong with naming this unit in an order of the side to move.
    fn identity_reasons(&self, id: &UnitId, arriving: bool) -> Vec<Reason> {
        let refuse =
            |code, note: String| vec![Reason::count(code, 1, 0).with(id.0.clone()).note(note)];
        let Some(unit) = self.table.unit(id) else {
            return refuse(
                Code::NoSuchUnit,
                format!("no order of battle has a unit {id}"),
            );
        };
        if unit.side != self.table.player() {
            return vec![Reason::count(Code::NotYourUnit, 0, 1).with(id.0.clone())];
        }
        let is_ordered = self.ordered.contains(id);
        match (&unit.state, arriving) {
            (State::Standing(_), false) | (State::Waiting(_), true) => Vec::new(),
            // an earlier order of the sheet brought it on, or took it off
            (State::Standing(_), true) | (State::Gone(_), _) if is_ordered => {
                vec![Reason::count(Code::MovedAlready, 1, 2).with(id.0.clone())]
            }
            (State::Standing(_), true) => refuse(
                Code::NotPossible,
                format!("{id} is on the table already, and arrives no more"),
            ),
            (State::Waiting(arrival), false) => refuse(
                Code::NoSuchUnit,
                format!(
                    "{id} arrives in game turn {} and must be ordered to arrive first",
                    arrival.game_turn
                ),
            ),
            (State::Gone(_), _) => {
                refuse(Code::NoSuchUnit, format!("{id} is no longer in the battle"))
            }
        }
    }

    /// The verdict on a unit that does not move.
    fn unmoved(&self, order: usize, id: UnitId, reasons: Vec<Reason>) -> MoveVerdict {
        let unit = self.table.unit(&id);
        let place = unit
            .and_then(crate::game::Unit::pose)
            .map(crate::verdict::Place::from);
        MoveVerdict {
            order,
            verdict: Ruling::worst(reasons.iter().map(Reason::ruling)),
            legs: Vec::new(),
            charge_mm: 0.0,
            allowance_mm: 0.0,
            in_command: self.turn.in_command(&id),
            start: place,
            end: place,
            end_pose: None,
            files: unit.map_or(0, |unit| unit.files),
            still_held_by: Vec::new(),
            lines_paid: None,
            furthest: place,
            remedies: Vec::new(),
            unit: id,
            reasons,
        }
    }

    fn add_to_last(&mut self, reasons: Vec<Reason>) {
        if let Some(last) = self.verdict.moves.last_mut() {
            last.verdict = Ruling::worst(reasons.iter().map(Reason::ruling).chain([last.verdict]));
            last.reasons.extend(reasons);
            last.reasons.sort_by_key(Reason::code);
        }
    }
}
