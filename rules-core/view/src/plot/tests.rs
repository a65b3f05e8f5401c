//! Plots: nothing collides, nothing leaves the picture, every chance is drawn to size.

use super::*;
use fieldpost_rules::ruleset::{
    Column, Dice, Fate, Losses, Outcome, Results, ResultsKind, Row, Throw,
};
use fieldpost_study::chances;

/// A table of the given numbers of columns and outcomes, over the totals of dice.
fn table(columns: u32, outcomes: u32, dice: Dice) -> Chances {
    let results = Results {
        kind: ResultsKind::Differential,
        dice,
        columns: (0..columns)
            .map(|column| Column::Difference(f64::from(column) - 3.0))
            .collect(),
        row: (dice.count..=dice.count * dice.faces)
            .map(|total| Row {
                throw: Throw::Total(total),
                outcomes: (0..columns)
                    .map(|column| format!("outcome {}", (total + column) % outcomes))
                    .collect(),
            })
            .collect(),
        outcome: (0..outcomes)
            .map(|index| (format!("outcome {index}"), outcome(index, outcomes)))
            .collect(),
        losses: Losses::EachUnit,
    };
    chances(&results, None).unwrap()
}

fn outcome(index: u32, outcomes: u32) -> Outcome {
    let loses = |loses| Fate {
        loses,
        ..Fate::default()
    };
    Outcome {
        words: "<b>thrown back & \u{1b}[2J</b>".repeat(4),
        attacker: loses((outcomes / 2).saturating_sub(index)),
        defender: loses(index.saturating_sub(outcomes / 2)),
        exchange: false,
    }
}

const D6: Dice = Dice { count: 1, faces: 6 };
const THREE_D10: Dice = Dice {
    count: 3,
    faces: 10,
};

#[test]
fn no_two_labels_collide_and_none_leaves_the_picture() {
    for (columns, outcomes, dice) in [
        (1, 1, D6),
        (7, 6, D6),
        (12, 9, THREE_D10),
        (40, 28, THREE_D10),
    ] {
        let plot = Plot::of(&table(columns, outcomes, dice), "A table of our own");
        for (index, a) in plot.labels.iter().enumerate() {
            assert!(a.left >= 0.0 && a.left + a.width <= WIDTH, "{a:?}");
            assert!(a.baseline - a.size >= 0.0 && a.baseline + 0.3 * a.size <= plot.height);
            for b in &plot.labels[index + 1..] {
                let beside = a.left + a.width <= b.left || b.left + b.width <= a.left;
                let above = a.baseline + 0.25 * a.size <= b.baseline - 0.8 * b.size
                    || b.baseline + 0.25 * b.size <= a.baseline - 0.8 * a.size;
                assert!(beside || above, "{a:?} {b:?}");
            }
        }
    }
}

#[test]
fn a_hostile_name_stays_text() {
    let svg = plot_svg(&table(3, 3, D6), "<script>\u{1b}");
    assert!(svg.contains("&lt;script&gt;") && !svg.contains("<script>") && !svg.contains("<b>"));
    assert!(!svg.contains('\u{1b}'));
    assert!(!plot_text(&table(3, 3, D6), 80).contains('\u{1b}'));
}

#[test]
fn text_is_as_wide_as_asked_and_every_chance_has_a_cell() {
    for (columns, outcomes, dice) in [(7, 6, D6), (12, 9, THREE_D10), (40, 28, THREE_D10)] {
        let table = table(columns, outcomes, dice);
        for asked in [0, 60, 80, 132, 1000] {
            let text = plot_text(&table, asked);
            let room = asked.clamp(60, 200);
            assert!(
                text.lines().all(|line| line.chars().count() <= room),
                "{text}"
            );
        }
    }
}

#[test]
fn cells_add_up_and_follow_the_shares() {
    assert_eq!(shared_out(&[0.5, 0.5], 51), [25, 26]);
    assert_eq!(shared_out(&[0.999, 0.001, 0.0], 50), [49, 1, 0]);
    assert_eq!(shared_out(&[1.0 / 3.0; 3], 52).iter().sum::<usize>(), 52);
    assert_eq!(shared_out(&[0.2; 5], 3).iter().sum::<usize>(), 3);
}

#[test]
fn a_bar_in_text() {
    let text = plot_text(&table(2, 3, D6), 80);
    let bar = text.lines().nth(2).unwrap();
    assert_eq!(
        bar,
        "      -3  a 33%------------b 33%............c 33%=============     0.33    0.33"
    );
}
