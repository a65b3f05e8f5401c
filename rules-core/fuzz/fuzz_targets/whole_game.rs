//! Bytes as the choices of two players: whatever they order, the laws hold, accepted sheets are
//! played, and the record audits.

#![no_main]

use fieldpost_rules::dice::{FIRST_ATTEMPT, commitment};
use fieldpost_rules::game::{Event, FORMAT, Game, LAWS};
use fieldpost_rules::geometry::signed_distance_mm;
use fieldpost_rules::orders::{Extent, Hand, Instructions, Leg, Order, TurnSheet, UnitId};
use fieldpost_rules::record::audit::{Line, audit};
use fieldpost_rules::record::{BEFORE_THE_FIRST, seal};
use fieldpost_rules::referee::{Drafting, Posting, judge_sheet, play};
use fieldpost_rules::shipped;
use fieldpost_rules::verdict::Ruling;
use fieldpost_rules_fuzz::opening;
use libfuzzer_sys::fuzz_target;

const GAME_ID: [u8; 16] = [7; 16];
const BATTLES: [&str; 4] = ["withy-bridge", "three-cairns", "quern-bridge", "saltway-ridge"];

/// Choices read off the input: noughts when it runs out.
struct Choices<'a>(&'a [u8]);

impl Choices<'_> {
    fn is_over(&self) -> bool {
        self.0.is_empty()
    }

    fn byte(&mut self) -> u8 {
        let Some((first, rest)) = self.0.split_first() else {
            return 0;
        };
        self.0 = rest;
        *first
    }

    fn of<T: Copy>(&mut self, all: &[T]) -> T {
        all[usize::from(self.byte()) % all.len()]
    }

    fn share(&mut self) -> f64 {
        f64::from(u16::from_be_bytes([self.byte(), self.byte()])) / 65535.0
    }

    fn hand(&mut self) -> Hand {
        self.of(&[Hand::Left, Hand::Right])
    }

    fn leg(&mut self) -> Leg {
        let up_to = self.byte() % 2 == 0;
        let distance_mm = (self.share() * 30_000.0).round() / 100.0;
        match self.byte() % 10 {
            0..=2 => Leg::Forward { distance_mm: Extent::new(distance_mm, up_to) },
            3 => Leg::Back { distance_mm: Extent::new(distance_mm, up_to) },
            4 => Leg::Sidestep { side: self.hand(), distance_mm: Extent::new(distance_mm, up_to) },
            5 => Leg::Oblique {
                side: self.hand(),
                angle_deg: (self.share() * 60.0).round(),
                distance_mm: Extent::new(distance_mm, up_to),
            },
            6 => Leg::Wheel { side: self.hand(), angle_deg: Extent::new((self.share() * 180.0).round(), up_to) },
            7 => self.of(&[Leg::About, Leg::Turn { side: Hand::Left }, Leg::Turn { side: Hand::Right }]),
            8 => Leg::Align { side: self.hand(), angle_deg: (self.share() * 40.0).round() },
            _ => Leg::Reform {
                files: 1 + u16::from(self.byte() % 5),
                ranks: 1 + u16::from(self.byte() % 4),
            },
        }
    }

    fn legs(&mut self) -> Vec<Leg> {
        (0..self.byte() % 4).map(|_| self.leg()).collect()
    }

    fn order(&mut self, unit: UnitId, others: &[UnitId]) -> Order {
        match self.byte() % 8 {
            0 => Order::Withdraw { unit, legs: self.legs() },
            1 => Order::Leave { unit },
            2 => Order::Arrive { unit, along_mm: (self.share() * 1500.0).round(), legs: self.legs() },
            3 => Order::MoveTogether {
                units: vec![unit, others[usize::from(self.byte()) % others.len()].clone()],
                legs: self.legs(),
            },
            _ => Order::Move { unit, legs: self.legs() },
        }
    }
}

/// A sheet that stands, made of what the choices offer.
fn drafted(game: &Game, choices: &mut Choices<'_>) -> Option<TurnSheet> {
    let own: Vec<UnitId> = game
        .units()
        .filter(|unit| unit.side == game.player())
        .map(|unit| unit.id.clone())
        .collect();
    let mut drafting = Drafting::begin(game);
    for _ in 0..12 {
        if choices.is_over() {
            break;
        }
        let unit = own[usize::from(choices.byte()) % own.len()].clone();
        let _ = drafting.offer(choices.order(unit, &own));
    }
    drafting.finish()
}

fn check(before: &Game, after: &Game) {
    let tolerance_mm = after.ruleset().scale.tolerance_mm;
    let standing: Vec<_> = after
        .on_table()
        .filter_map(|unit| Some((unit, unit.footprint()?)))
        .collect();
    for (index, (unit, ground)) in standing.iter().enumerate() {
        let off_mm = -after.ground().table.margin_mm(ground);
        assert!(off_mm <= tolerance_mm + 1e-6, "{} is {off_mm} mm off the table", unit.id);
        for (other, place) in &standing[index + 1..] {
            let into_mm = -signed_distance_mm(ground, place);
            assert!(into_mm <= tolerance_mm + 1e-6, "{} is {into_mm} mm in {}", unit.id, other.id);
        }
    }
    for unit in after.units() {
        let was = before.unit(&unit.id).expect("the same units");
        assert!(unit.bases <= was.bases, "{} grew", unit.id);
    }
}

/// A sheet of orders nobody looked at: it is refused or played, never both.
fn blind(game: &Game, choices: &mut Choices<'_>, posting: &dyn Fn(&TurnSheet) -> bool) {
    let own: Vec<UnitId> = game.units().map(|unit| unit.id.clone()).collect();
    let orders = (0..choices.byte() % 4)
        .map(|_| {
            let unit = own[usize::from(choices.byte()) % own.len()].clone();
            choices.order(unit, &own)
        })
        .collect();
    let sheet = TurnSheet {
        game_turn: game.game_turn(),
        side: game.player_side(),
        orders,
    };
    let refused = judge_sheet(game, &sheet).verdict == Ruling::Refused;
    assert_eq!(posting(&sheet), !refused, "{sheet:#?}");
}

fuzz_target!(|bytes: &[u8]| {
    let mut choices = Choices(bytes);
    let key = choices.of(&BATTLES);
    let mut game = opening(key);
    let battle = shipped::find(key).expect("shipped");
    let secret = |turn: u64| [u8::try_from(turn % 251).expect("small"); 32];
    let mut head = (0, BEFORE_THE_FIRST);
    let mut lines = Vec::new();
    let mut append = |game: &mut Game, events: Vec<Event>| {
        for sealed in seal(head, "2026-01-01T00:00:00Z", events).expect("canonical") {
            game.apply(&sealed.entry.event);
            head = (sealed.entry.number, sealed.hash);
            let hash = sealed.hash.iter().map(|byte| format!("{byte:02x}")).collect();
            lines.push(Line { number: head.0, hash, body: sealed.body });
        }
        head.1
    };
    let hex = |bytes: [u8; 32]| bytes.iter().map(|byte| format!("{byte:02x}")).collect::<String>();
    let opened = Event::Opened {
        format: FORMAT,
        laws: LAWS,
        signed: false,
        game: "07".repeat(16),
        ruleset: battle.ruleset.text.to_owned(),
        scenario: battle.scenario.text.to_owned(),
        commitment: hex(commitment(&GAME_ID, 1, FIRST_ATTEMPT, &secret(1))),
    };
    append(&mut game, vec![opened]);
    while game.ending().is_none() && !choices.is_over() {
        let turn = game.player_turn();
        let standing = Instructions::default();
        let posting = |sheet: &TurnSheet| {
            play(
                &game,
                &Posting {
                    sheet,
                    standing: &standing,
                    game_id: GAME_ID,
                    attempt: FIRST_ATTEMPT,
                    secret: secret(turn),
                    number: [3; 32],
                    next_commitment: commitment(&GAME_ID, turn + 1, FIRST_ATTEMPT, &secret(turn + 1)),
                    sealed: &[],
                },
            )
        };
        blind(&game, &mut choices, &|sheet| posting(sheet).is_ok());
        let Some(sheet) = drafted(&game, &mut choices) else {
            break;
        };
        let events = posting(&sheet).expect("a sheet that stands is accepted");
        let before = game.clone();
        append(&mut game, events);
        check(&before, &game);
    }
    let audited = audit(&lines).unwrap_or_else(|fault| panic!("{key}: {fault}"));
    assert_eq!(audited.game, game);
});
