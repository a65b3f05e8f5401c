//! A judged sheet drawn: one of its orders, or all of it, each on the table it was measured on.

use fieldpost_rules::game::Game;
use fieldpost_rules::orders::TurnSheet;
use fieldpost_rules::referee::{table_after_moves, table_before};
use fieldpost_rules::verdict::rounding::tenths;
use fieldpost_rules::verdict::{Code, MoveVerdict, Reason, Ruling, SheetVerdict};

use super::declaration::Declaration;
use super::labels::{Board, round_a_unit};
use super::panel::Column;
use super::pen::Pen;
use super::tape_drawing::{dot, figures_style, place_on};
use super::{Ghost, Picture, SvgOptions, caption, panel, verdict, ways};

/// A judged sheet as a picture: when a move is refused, the first that is; when its declaration of battles is
/// refused, that; else the table after its moves with the tape of each and a string for every distance measured.
#[must_use]
pub fn sheet(
    game: &Game,
    sheet: &TurnSheet,
    verdict: &SheetVerdict,
    options: &SvgOptions,
) -> String {
    let mut moves = verdict.moves.iter();
    let refused = moves.find(|moved| moved.verdict == Ruling::Refused);
    if let Some(refused) = refused
        && let Some(drawn) = order(game, sheet, verdict, refused.order, options)
    {
        return drawn;
    }
    let table = table_after_moves(game, sheet, verdict);
    let declaration = Declaration {
        table: &table,
        battles: verdict.battles.iter().collect(),
        duties: duties(verdict),
    };
    let is_refused = verdict.verdict == Ruling::Refused;
    let options = SvgOptions {
        ghosts: ways::moves(game, sheet, verdict),
        part: options
            .part
            .or_else(|| declaration.part().filter(|_| is_refused)),
        ..options.clone()
    };
    draw(&declaration, verdict, &options, true)
}

/// The verdict on one of a sheet's orders, counted from 0: a move on the table that those before it leave, a battle
/// on the table after all of them. `None` when the order has nothing to draw.
#[must_use]
pub fn order(
    game: &Game,
    sheet: &TurnSheet,
    verdict: &SheetVerdict,
    order: usize,
    options: &SvgOptions,
) -> Option<String> {
    let moves: Vec<&MoveVerdict> = verdict
        .moves
        .iter()
        .filter(|moved| moved.order == order)
        .collect();
    if !moves.is_empty() {
        let table = table_before(game, sheet, verdict, order);
        return Some(verdict::moves(&table, &moves, options));
    }
    let battle = verdict
        .battles
        .iter()
        .find(|battle| battle.order == order)?;
    let table = table_after_moves(game, sheet, verdict);
    let declaration = Declaration {
        table: &table,
        battles: vec![battle],
        duties: Vec::new(),
    };
    let options = SvgOptions {
        part: options.part.or_else(|| declaration.part()),
        ..options.clone()
    };
    Some(draw(&declaration, verdict, &options, false))
}

/// What the sheet leaves undone.
fn duties(verdict: &SheetVerdict) -> Vec<&Reason> {
    let is_duty =
        |reason: &&Reason| matches!(reason.code(), Code::MustAttack | Code::MustBeAttacked);
    verdict.reasons.iter().filter(is_duty).collect()
}

fn draw(
    declaration: &Declaration,
    verdict: &SheetVerdict,
    options: &SvgOptions,
    is_whole: bool,
) -> String {
    let options = SvgOptions {
        highlights: if declaration.battles.is_empty() {
            options.highlights.clone()
        } else {
            fighting(declaration)
        },
        ..options.clone()
    };
    let picture = Picture::new(declaration.table, &options);
    super::whole(
        &picture,
        |pen, picture, left, top| {
            if declaration.battles.is_empty() && declaration.duties.is_empty() {
                return panel::draw(pen, picture, left, top);
            }
            let mut column = Column { pen, left, y: top };
            for battle in &declaration.battles {
                caption::battle(&mut column, picture, battle);
            }
            let rest = verdict.completion.as_deref().filter(|_| is_whole);
            caption::undone(&mut column, picture, &declaration.duties, rest);
            caption::signs_of_battle(&mut column, picture, declaration);
            column.y
        },
        &Overlay {
            declaration,
            picture: &picture,
        },
    )
}

fn fighting(declaration: &Declaration) -> Vec<fieldpost_rules::orders::UnitId> {
    let battles = declaration.battles.iter();
    battles
        .flat_map(|battle| [&battle.attackers, &battle.defenders, &battle.guns])
        .flatten()
        .cloned()
        .collect()
}

struct Overlay<'a> {
    declaration: &'a Declaration<'a>,
    picture: &'a Picture<'a>,
}

impl super::Overlay for Overlay<'_> {
    fn under(&self, pen: &mut Pen) {
        self.declaration.draw_under(pen, self.picture);
    }

    fn over(&self, pen: &mut Pen, board: &mut Board) {
        self.declaration.draw_over(pen, self.picture, board);
        for ghost in &self.picture.options.ghosts {
            letter_tapes(self.picture, ghost, board);
        }
    }
}

/// The length of every tape beside it, where there is room.
fn letter_tapes(picture: &Picture, ghost: &Ghost, board: &mut Board) {
    for leg in ghost.tapes() {
        let Some(path) = &leg.tape else { continue };
        let text = format!("{} mm", tenths(leg.tape_mm));
        let style = figures_style(&picture.sides[ghost.side % 2].dark);
        let length = path.length_mm();
        let spots = [0.5, 0.3, 0.7].into_iter().flat_map(|share| {
            let (at, _) = place_on(picture, path, length * share);
            round_a_unit(&text, &style, &dot(at, 5.0))
        });
        // a figure far off its tape says less than none
        let near = spots.filter(|spot| spot.leader_to.is_none()).collect();
        board.place(&text, &style, near);
    }
}
