//! Games by post with a host of their own, drawn from a seed: every seat signs, and every kind of event comes about.

use fieldpost_commander::Chance;
use fieldpost_rules::dice::{Bytes32, FIRST_ATTEMPT, commitment};
use fieldpost_rules::game::{ClockRules, Event, FORMAT, LAWS, OpenedInstructions, WhenOut};
use fieldpost_rules::orders::{Instruction, Instructions, SideId, TurnSheet};
use fieldpost_rules::record::audit::Line;
use fieldpost_rules::record::bodies::{Action, PutUnit};
use fieldpost_rules::record::{
    BEFORE_THE_FIRST, Entry, Fold, ORGANISER, Posted, PostingKind, Signed, SignedParts, canonical,
    hash_of, public_key, seal, seal_of_instructions, seal_posted, sign,
};
use fieldpost_rules::referee::{self, Closing, Posting};
use fieldpost_rules::shipped;
use fieldpost_rules::verdict::Place;
use serde_json::{Value, json};

pub const GAME_ID: [u8; 16] = [7; 16];
const DAY: i64 = 86_400;

/// A seat and the secret seed of its device.
#[derive(Debug, Clone)]
pub struct Device {
    pub seat: String,
    /// Index of its side; absent: the umpire's.
    pub side: Option<usize>,
    pub seed: Bytes32,
}

/// A game under way, with all that its host and its players keep to themselves.
#[derive(Clone)]
pub struct Post {
    pub fold: Fold,
    pub lines: Vec<Line>,
    pub chance: Chance,
    pub devices: Vec<Device>,
    pub secret: Bytes32,
    pub sealed: Vec<OpenedInstructions>,
    head: (u64, Bytes32),
    /// Seconds since 1970.
    now: i64,
    pub is_signed: bool,
}

/// The moment as records write it.
fn moment(seconds: i64) -> String {
    let moment = jiff::Timestamp::from_second(seconds).expect("within the years that there are");
    moment.to_string()
}

impl Post {
    /// Opens a game; two players and an umpire take their seats, each with a device of their own.
    pub fn open(seed: u64, is_signed: bool, when_out: Option<WhenOut>) -> Self {
        let mut chance = Chance::new(seed);
        let battle = shipped::find("withy-bridge").expect("shipped");
        let secret = chance.bytes();
        let opened = Event::Opened {
            format: FORMAT,
            laws: LAWS,
            game: hex::encode(GAME_ID),
            ruleset: battle.ruleset.text.to_owned(),
            scenario: battle.scenario.text.to_owned(),
            commitment: hex::encode(commitment(&GAME_ID, 1, FIRST_ATTEMPT, &secret)),
            signed: is_signed,
        };
        // 1 June 2026, noon
        let now = 1_780_315_200;
        let sealed = seal((0, BEFORE_THE_FIRST), &moment(now), vec![opened]).expect("canonical");
        let fold = Fold::open(&sealed[0].entry, sealed[0].hash).expect("it opens");
        let mut post = Self {
            fold,
            lines: Vec::new(),
            chance,
            devices: Vec::new(),
            secret,
            sealed: Vec::new(),
            head: (1, sealed[0].hash),
            now,
            is_signed,
        };
        post.push(&sealed[0].body, sealed[0].hash);
        if let Some(when_out) = when_out {
            let clock = clock(when_out);
            post.host(vec![Event::ClockSet { clock }]);
        }
        for (seat, side) in [
            ("seat-red", Some(0)),
            ("seat-blue", Some(1)),
            ("chair", None),
        ] {
            post.take(seat, side);
        }
        post
    }

    fn push(&mut self, body: &str, hash: Bytes32) {
        self.lines.push(Line {
            number: self.head.0,
            hash: hex::encode(hash),
            body: body.to_owned(),
        });
    }

    /// Appends events that follow each other; why not, if one may not follow.
    pub fn append(&mut self, events: Vec<Event>, posted: Option<Posted>) -> Result<(), String> {
        self.now += 1 + i64::try_from(self.chance.number() % 20_000).expect("small");
        let sealed = seal_posted(self.head, &moment(self.now), events, posted);
        for sealed in sealed.expect("canonical") {
            let caused = self.fold.may_follow(&sealed.entry);
            caused.map_err(|why| format!("{}: {why}", sealed.entry.event.kind()))?;
            self.fold.apply(&sealed.entry, sealed.hash);
            self.head = (sealed.entry.number, sealed.hash);
            self.push(&sealed.body, sealed.hash);
        }
        Ok(())
    }

    /// What the host does of itself.
    pub fn host(&mut self, events: Vec<Event>) {
        self.append(events, None).expect("it may follow");
    }

    /// Somebody takes a seat, with a new device.
    pub fn take(&mut self, seat: &str, side: Option<usize>) {
        let seed = self.chance.bytes();
        let key = self.is_signed.then(|| hex::encode(public_key(&seed)));
        let (player, seat) = (format!("player of {seat}"), seat.to_owned());
        self.devices.retain(|device| device.seat != seat);
        self.devices.push(Device {
            seat: seat.clone(),
            side,
            seed,
        });
        let taken = match side {
            Some(side) => Event::SeatTaken {
                side: self.fold.game.side_id(side),
                player,
                seat: Some(seat),
                key,
            },
            None => Event::UmpireSeated { seat, player, key },
        };
        self.host(vec![taken]);
    }

    /// A device of a side's seat, or of the umpire's.
    pub fn device(&self, side: Option<usize>) -> Device {
        let mut devices = self.devices.iter().rev();
        devices
            .find(|device| device.side == side)
            .expect("seated")
            .clone()
    }

    /// A posting written now, signed if the game is.
    pub fn posted(
        &self,
        device: &Device,
        kind: PostingKind,
        body: String,
        number: Option<Bytes32>,
    ) -> Posted {
        let precondition = self.head.1;
        let player_turn = self.fold.game.player_turn();
        let attempt = self.fold.record_state.attempt().expect("the second form");
        let parts = SignedParts {
            game: &GAME_ID,
            seat: &device.seat,
            kind,
            precondition: &precondition,
            player_turn,
            attempt,
            body: body.as_bytes(),
            number: number.as_ref(),
        };
        let signed = self.is_signed.then(|| Signed {
            key: hex::encode(public_key(&device.seed)),
            signature: hex::encode(sign(&device.seed, &parts.message())),
        });
        Posted {
            seat: device.seat.clone(),
            kind,
            precondition: hex::encode(precondition),
            player_turn,
            attempt,
            number: number.map(hex::encode),
            body,
            signed,
        }
    }

    /// Something that a seat does.
    pub fn act(&mut self, side: Option<usize>, kind: PostingKind, body: Value, events: Vec<Event>) {
        let body = if body.is_null() {
            String::new()
        } else {
            body.to_string()
        };
        let posted = self.posted(&self.device(side), kind, body, None);
        self.append(events, Some(posted)).expect("it may follow");
    }

    /// The side to move.
    pub fn mover(&self) -> usize {
        self.fold.game.player()
    }

    pub fn side(&self, index: usize) -> SideId {
        self.fold.game.side_id(index)
    }

    /// Standing instructions as the record lets them count for a posting that comes now.
    pub fn standing(&self) -> Instructions {
        let waiting = self.side(1 - self.mover());
        let in_force = self.fold.record_state.seal_in_force(&waiting, true);
        let given = in_force.map(|index| self.sealed[index].instructions.clone());
        given.unwrap_or_default()
    }

    /// The side to move posts a sheet that an automatic commander drew up.
    pub fn turn(&mut self) {
        let sheet = fieldpost_commander::sheet(&self.fold.game, &mut self.chance).expect("a sheet");
        let number = self.chance.bytes();
        self.turn_of(&sheet, number).expect("it may follow");
    }

    pub fn turn_of(&mut self, sheet: &TurnSheet, number: Bytes32) -> Result<(), String> {
        let body = json!({"sheet": sheet, "number": hex::encode(number)}).to_string();
        let device = self.device(Some(self.mover()));
        let posted = self.posted(&device, PostingKind::Sheet, body, Some(number));
        let next = self.chance.bytes();
        let events = self.played(sheet, number, self.secret, next);
        self.append(events, Some(posted))?;
        self.secret = next;
        Ok(())
    }

    /// What the referee makes of a sheet.
    pub fn played(
        &self,
        sheet: &TurnSheet,
        number: Bytes32,
        secret: Bytes32,
        next: Bytes32,
    ) -> Vec<Event> {
        let turn = self.fold.game.player_turn();
        let posting = Posting {
            sheet,
            standing: &self.standing(),
            game_id: GAME_ID,
            attempt: self.fold.record_state.attempt().expect("the second form"),
            secret,
            number,
            next_commitment: commitment(&GAME_ID, turn + 1, FIRST_ATTEMPT, &next),
            sealed: &self.sealed,
        };
        referee::play(&self.fold.game, &posting).expect("a commander's sheet is legal")
    }

    /// The player turn passes.
    pub fn passes(&mut self, why: &str) -> Vec<Event> {
        let next = self.chance.bytes();
        let turn = self.fold.game.player_turn();
        let closing = Closing {
            attempt: self.fold.record_state.attempt(),
            secret: self.secret,
            number: [0; 32],
            next_commitment: commitment(&GAME_ID, turn + 1, FIRST_ATTEMPT, &next),
            sealed: &self.sealed,
        };
        self.secret = next;
        referee::pass(&self.fold.game, why, &closing)
    }

    pub fn instruct(&mut self, side: usize) {
        let instructions = Instructions {
            all: Instruction {
                follow_up: self.chance.comes(0.5),
                give_way: None,
            },
            ..Instructions::default()
        };
        let nonce = self.chance.bytes();
        let seal = hex::encode(seal_of_instructions(&nonce, &instructions).expect("canonical"));
        let (id, body) = (self.side(side), json!({"seal": &seal}));
        let event = Event::InstructionsChanged {
            side: id.clone(),
            seal,
        };
        self.act(Some(side), PostingKind::Instructions, body, vec![event]);
        self.sealed.push(OpenedInstructions {
            side: id,
            nonce: hex::encode(nonce),
            instructions,
        });
    }

    pub fn dispute(&mut self, side: usize) {
        let text = format!("Was that so? ({})", self.chance.number() % 1000);
        let event = Event::DisputeRaised {
            side: self.side(side),
            about: Some(1),
            text: text.clone(),
        };
        let body = json!({"about": 1, "text": text});
        self.act(Some(side), PostingKind::Dispute, body, vec![event]);
    }

    /// A ruling and what follows from it.
    pub fn rule(&mut self, then: Option<Action>) {
        let text = format!("So it is. ({})", self.chance.number() % 1000);
        let body = json!({"text": &text, "then": then});
        let follows = match then {
            None => Vec::new(),
            Some(Action::Pass) => self.passes("the umpire rules so"),
            Some(Action::MoreTime { days }) => vec![Event::DeadlineMoved {
                side: self.side(self.mover()),
                days,
                reason: text.clone(),
            }],
            Some(Action::End { winner }) => {
                let winner = winner.map(SideId);
                vec![referee::stop(
                    &self.fold.game,
                    winner,
                    "The umpire ends it",
                    &self.sealed,
                )]
            }
            Some(Action::Correct { units }) => units
                .iter()
                .map(|put| Event::PositionCorrected {
                    unit: put.unit.as_str().into(),
                    to: pose(put.place),
                    reason: text.clone(),
                })
                .collect(),
            Some(Action::Pause) => vec![Event::Paused {
                why: "the umpire rules so".to_owned(),
            }],
            Some(Action::Resume) => vec![Event::Resumed {
                why: "the umpire rules so".to_owned(),
            }],
        };
        let mut events = vec![Event::RulingGiven { about: None, text }];
        events.extend(follows);
        self.act(None, PostingKind::Ruling, body, events);
    }

    /// The umpire sets a unit that stands a little aside, where there is room.
    pub fn correct(&mut self) {
        let stands: Vec<_> = self.fold.game.on_table().cloned().collect();
        for unit in stands {
            let at = Place::from(unit.pose().expect("it stands"));
            let place = Place {
                x_mm: at.x_mm + 1.0,
                ..at
            };
            // as it is written
            let place = serde_json::from_value(json!(place)).expect("a place");
            if referee::correct(&self.fold.game, &[(unit.id.clone(), pose(place))], "").is_ok() {
                let unit = unit.id.0;
                let units = vec![PutUnit { unit, place }];
                return self.rule(Some(Action::Correct { units }));
            }
        }
    }

    pub fn leave(&mut self, side: usize) {
        let from = moment(self.now + 40 * DAY)[..10].to_owned();
        let today = moment(self.now)[..10].to_owned();
        let taken = self.fold.clock.leave(&self.side(side).0).count();
        if self.fold.clock.rules().is_none() || taken > 0 || today > from {
            return;
        }
        let event = Event::LeaveTaken {
            side: self.side(side),
            from: from.clone(),
            days: 3,
        };
        let body = json!({"from": from, "days": 3});
        self.act(Some(side), PostingKind::Leave, body, vec![event]);
    }

    pub fn pause(&mut self) {
        if self.fold.clock.rules().is_none() || self.fold.clock.is_paused() {
            return;
        }
        for side in [0, 1] {
            let mut events = vec![Event::PauseAsked {
                side: self.side(side),
            }];
            if side == 1 {
                let why = "both sides asked for a pause".to_owned();
                events.push(Event::Paused { why });
            }
            self.act(Some(side), PostingKind::Pause, Value::Null, events);
        }
        let why = "they play on".to_owned();
        self.act(
            Some(0),
            PostingKind::Resume,
            Value::Null,
            vec![Event::Resumed { why }],
        );
    }

    pub fn zone(&mut self, side: usize) {
        let zone = "Europe/Lisbon".to_owned();
        let body = json!({"zone": &zone});
        let event = Event::ZoneSet {
            side: self.side(side),
            zone,
        };
        self.act(Some(side), PostingKind::Zone, body, vec![event]);
    }

    pub fn set_clock(&mut self) {
        let clock = clock(WhenOut::Claim);
        let body = json!(&clock);
        self.act(
            None,
            PostingKind::Clock,
            body,
            vec![Event::ClockSet { clock }],
        );
    }

    /// A second device for a seat, and the first one gone.
    pub fn change_key(&mut self, side: usize) {
        let old = self.device(Some(side));
        let seed = self.chance.bytes();
        let key = hex::encode(public_key(&seed));
        let seat = old.seat.clone();
        let added = Event::KeyAdded {
            seat: seat.clone(),
            key: key.clone(),
        };
        self.act(
            Some(side),
            PostingKind::KeyAdded,
            json!({"key": key}),
            vec![added],
        );
        let gone = hex::encode(public_key(&old.seed));
        let device = Device { seed, ..old };
        self.devices.retain(|known| known.seat != seat);
        self.devices.push(device);
        let removed = Event::KeyRemoved {
            seat,
            key: gone.clone(),
        };
        self.act(
            Some(side),
            PostingKind::KeyRemoved,
            json!({"key": gone}),
            vec![removed],
        );
    }

    /// All devices of a seat are lost; the umpire's word gives it another key, which the other side may countersign.
    pub fn replace_key(&mut self, side: usize, is_countersigned: bool) {
        let seed = self.chance.bytes();
        let key = hex::encode(public_key(&seed));
        let seat = self.device(Some(side)).seat;
        let reason = "the telephone fell into the brook".to_owned();
        let body = json!({"seat": &seat, "key": &key, "reason": &reason});
        let replaced = Event::KeyReplaced {
            seat: seat.clone(),
            key: key.clone(),
            reason,
        };
        self.act(None, PostingKind::KeyReplaced, body, vec![replaced]);
        if is_countersigned {
            let body = json!({"seat": &seat, "key": &key});
            let event = Event::KeyCountersigned {
                side: self.side(1 - side),
                seat: seat.clone(),
                key,
            };
            self.act(
                Some(1 - side),
                PostingKind::KeyCountersigned,
                body,
                vec![event],
            );
        } else {
            self.now += 3 * DAY;
        }
        self.devices.retain(|known| known.seat != seat);
        self.devices.push(Device {
            seat,
            side: Some(side),
            seed,
        });
    }

    pub fn renew(&mut self) {
        let secret = self.chance.bytes();
        let player_turn = self.fold.game.player_turn();
        let attempt = self.fold.record_state.attempt().expect("the second form") + 1;
        let renewed = Event::SecretsRenewed {
            player_turn,
            attempt,
            secret: hex::encode(self.secret),
            commitment: hex::encode(commitment(&GAME_ID, player_turn, attempt, &secret)),
            why: "the host went back to a copy".to_owned(),
        };
        self.secret = secret;
        self.host(vec![renewed]);
    }

    /// A player goes, and another takes the seat.
    pub fn change_player(&mut self, side: usize) {
        let seat = self.device(Some(side)).seat;
        self.host(vec![
            Event::SeatFreed { seat: seat.clone() },
            Event::InstructionsCleared {
                side: self.side(side),
                why: "nobody is left who gave them".to_owned(),
            },
        ]);
        self.take(&seat, Some(side));
    }

    pub fn accept_umpire(&mut self) {
        let body = json!({"seat": ORGANISER});
        let event = Event::UmpireAccepted {
            side: self.side(0),
            seat: ORGANISER.to_owned(),
        };
        self.act(Some(0), PostingKind::UmpireAccepted, body, vec![event]);
    }

    pub fn concede(&mut self, side: usize) {
        let winner = Some(self.side(1 - side));
        let end = referee::stop(
            &self.fold.game,
            winner,
            "It gives the battle up",
            &self.sealed,
        );
        let events = vec![
            Event::Conceded {
                side: self.side(side),
            },
            end,
        ];
        self.act(Some(side), PostingKind::Concession, Value::Null, events);
    }

    /// The side to move lets its time run out.
    pub fn run_out(&mut self) {
        let due = self.fold.clock.due().expect("a clock runs");
        self.now = self.now.max(due.as_second());
    }

    pub fn claim(&mut self) {
        self.run_out();
        let side = 1 - self.mover();
        let winner = Some(self.side(side));
        let end = referee::stop(&self.fold.game, winner, "Time is out", &self.sealed);
        let events = vec![
            Event::TimeClaimed {
                side: self.side(side),
            },
            end,
        ];
        self.act(Some(side), PostingKind::Claim, Value::Null, events);
    }

    /// Time is out, and the turn passes by itself.
    pub fn pass_late(&mut self) {
        self.run_out();
        let events = self.passes("time is out");
        self.host(events);
    }
}

fn pose(place: Place) -> fieldpost_rules::geometry::Pose {
    fieldpost_rules::geometry::Pose::from_mm_deg(place.x_mm, place.y_mm, place.bearing_deg)
        .expect("on some table")
}

fn clock(when_out: WhenOut) -> ClockRules {
    ClockRules {
        days_per_turn: 30,
        days_at_start: 30,
        most_saved: None,
        double_after: None,
        leave_days: 10,
        remind_days: Vec::new(),
        when_out,
    }
}

/// A game drawn from a seed: some player turns, between them whatever people do.
pub fn random_game(seed: u64, is_signed: bool) -> Post {
    let when_out = [None, Some(WhenOut::Claim), Some(WhenOut::Pass)][(seed % 3) as usize];
    let mut post = Post::open(seed, is_signed, when_out);
    let turns = 1 + post.chance.number() % 4;
    for _ in 0..turns {
        for _ in 0..post.chance.number() % 4 {
            between_turns(&mut post);
        }
        if post.fold.game.ending().is_some() {
            return post;
        }
        post.turn();
        if post.fold.game.ending().is_some() {
            return post;
        }
    }
    match (post.chance.number() % 6, when_out) {
        (0, _) => post.concede(0),
        (1, _) => post.rule(Some(Action::End { winner: None })),
        (2 | 3, Some(WhenOut::Claim)) => post.claim(),
        (2 | 3, Some(WhenOut::Pass)) => post.pass_late(),
        _ => {}
    }
    post
}

fn between_turns(post: &mut Post) {
    let side = (post.chance.number() % 2) as usize;
    match post.chance.number() % 16 {
        0..=3 => post.instruct(side),
        4 => post.dispute(side),
        5 => post.rule(None),
        6 => post.correct(),
        7 => post.leave(side),
        8 => post.pause(),
        9 => post.zone(side),
        10 if post.is_signed => post.change_key(side),
        11 if post.is_signed => post.replace_key(side, true),
        12 if post.is_signed => post.replace_key(side, false),
        13 => post.renew(),
        14 => post.change_player(side),
        15 => post.rule(Some(Action::Pass)),
        _ => post.accept_umpire(),
    }
}

/// The entries of a record as data.
pub fn entries(lines: &[Line]) -> Vec<Value> {
    let entry = |line: &Line| serde_json::from_str(&line.body).expect("JSON");
    lines.iter().map(entry).collect()
}

/// Entries numbered and chained anew, as a host who owns them would.
pub fn chained(mut entries: Vec<Value>) -> Vec<Line> {
    let mut previous = hex::encode(BEFORE_THE_FIRST);
    let mut lines = Vec::with_capacity(entries.len());
    for (entry, number) in entries.iter_mut().zip(1_u64..) {
        entry["previous"] = previous.into();
        entry["number"] = number.into();
        let body = canonical(entry).expect("canonical");
        previous = hex::encode(hash_of(body.as_bytes()));
        lines.push(Line {
            number,
            hash: previous.clone(),
            body,
        });
    }
    lines
}

/// An entry read.
pub fn entry(line: &Line) -> Entry {
    serde_json::from_str(&line.body).expect("an entry")
}
