//! What a store should do, said as plainly as can be: maps in memory, and a copy thrown away when
//! anything of a write fails.

use std::collections::BTreeMap;

use fieldpost_rules::dice::Bytes32;
use fieldpost_server::store::{
    Append, Change, FreedSeat, GameId, Invitation, Opening, Opens, Origin, Readers,
    SealedInstructions, Seat, StoreError, StoredAnswer, StoredEntry, StoredGame, StoredKey,
    TakenSeat, Waking,
};

/// How a write may fail.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Why {
    Overtaken,
    /// What it refers to is not there.
    Refused,
}

impl Why {
    pub fn of(error: &StoreError) -> Self {
        match error {
            StoreError::Overtaken => Self::Overtaken,
            StoreError::Database(_) => Self::Refused,
            other => panic!("{other}"),
        }
    }
}

type Done = Result<(), Why>;

#[derive(Debug, Clone)]
pub struct Game {
    pub game: StoredGame,
    pub entries: Vec<StoredEntry>,
    pub seats: Vec<Seat>,
    pub secrets: BTreeMap<u64, Bytes32>,
    pub sealed: Vec<SealedInstructions>,
    pub wakes_at: Option<i64>,
}

#[derive(Debug, Clone, Default)]
pub struct Model {
    pub games: BTreeMap<GameId, Game>,
    pub invitations: BTreeMap<String, Invitation>,
    pub keys: BTreeMap<String, StoredKey>,
    pub answers: BTreeMap<(String, String), StoredAnswer>,
}

impl Model {
    /// All of it or nothing.
    fn whole(&mut self, write: impl FnOnce(&mut Self) -> Done) -> Done {
        let mut copy = self.clone();
        write(&mut copy)?;
        *self = copy;
        Ok(())
    }

    pub fn add_first_organiser(&mut self, key: &StoredKey) -> bool {
        let is_first = self.keys.values().all(|key| key.opens != Opens::Organiser);
        if is_first {
            self.keys.insert(key.id.clone(), key.clone());
        }
        is_first
    }

    pub fn open_game(&mut self, opening: &Opening) -> Done {
        self.whole(|model| {
            let game = Game {
                game: opening.game.clone(),
                entries: opening.entries.clone(),
                seats: opening.seats.clone(),
                secrets: BTreeMap::from([(1, opening.secret)]),
                sealed: Vec::new(),
                wakes_at: None,
            };
            once(model.games.insert(opening.game.id, game))?;
            for invitation in &opening.invitations {
                once(
                    model
                        .invitations
                        .insert(invitation.id.clone(), invitation.clone()),
                )?;
            }
            Ok(())
        })
    }

    pub fn set_open_to_all(&mut self, game: GameId, open: bool) {
        if let Some(game) = self.games.get_mut(&game) {
            game.game.open_to_all = open;
        }
    }

    pub fn invite(&mut self, invitation: &Invitation) -> Done {
        self.whole(|model| {
            for earlier in model.invitations.values_mut() {
                if earlier.seat == invitation.seat && is_good(earlier) {
                    earlier.voided_at = Some(invitation.issued_at.clone());
                }
            }
            once(
                model
                    .invitations
                    .insert(invitation.id.clone(), invitation.clone()),
            )
        })
    }

    pub fn append(&mut self, append: &Append) -> Done {
        self.whole(|model| {
            let game = model.games.get_mut(&append.game).ok_or(Why::Overtaken)?;
            if game.game.head != append.after {
                return Err(Why::Overtaken);
            }
            game.game.head = super::fixtures::head_after(append);
            game.game.moment = append.moment.clone();
            game.entries.extend(append.entries.iter().cloned());
            for change in &append.changes {
                model.carry_out(append.game, change)?;
            }
            Ok(())
        })
    }

    fn carry_out(&mut self, game: GameId, change: &Change) -> Done {
        let table = self.games.get_mut(&game).ok_or(Why::Refused)?;
        match change {
            Change::NextSecret { used, next } => {
                table.secrets.remove(used).ok_or(Why::Overtaken)?;
                once(table.secrets.insert(used + 1, *next))
            }
            Change::RenewSecret {
                player_turn,
                secret,
            } => {
                let kept = table.secrets.get_mut(player_turn).ok_or(Why::Overtaken)?;
                *kept = *secret;
                Ok(())
            }
            Change::Seal(sealed) => {
                if table.sealed.iter().any(|kept| kept.number == sealed.number) {
                    return Err(Why::Overtaken);
                }
                table.sealed.push(sealed.clone());
                table.sealed.sort_by_key(|sealed| sealed.number);
                Ok(())
            }
            Change::WakeAt(at) => {
                table.wakes_at = *at;
                Ok(())
            }
            Change::TakeSeat(taken) => self.take_seat(taken),
            Change::FreeSeat(freed) => self.free_seat(freed),
            Change::StoreAnswer(answer) => {
                let name = (answer.key.clone(), answer.idempotency_key.clone());
                once(self.answers.insert(name, answer.clone()))?;
                self.keys.get(&answer.key).map(|_| ()).ok_or(Why::Refused)
            }
            // Nobody here has an address to be told at.
            Change::QueueNotice(_) => Ok(()),
        }
    }

    /// Games that wake by a second, the longest due first.
    pub fn waking(&self, by: i64) -> Vec<Waking> {
        let mut waking: Vec<Waking> = self
            .games
            .iter()
            .filter_map(|(&game, kept)| {
                let wakes_at = kept.wakes_at.filter(|at| *at <= by)?;
                Some(Waking { game, wakes_at })
            })
            .collect();
        waking.sort_by_key(|waking| (waking.wakes_at, waking.game));
        waking
    }

    pub fn wake_next(&mut self, waking: &Waking, next: Option<i64>) -> Done {
        self.whole(|model| {
            let game = model.games.get_mut(&waking.game).ok_or(Why::Overtaken)?;
            if game.wakes_at != Some(waking.wakes_at) {
                return Err(Why::Overtaken);
            }
            game.wakes_at = next;
            Ok(())
        })
    }

    fn free_seat(&mut self, freed: &FreedSeat) -> Done {
        let mut seats = self.games.values_mut().flat_map(|game| &mut game.seats);
        let seat = seats.find(|seat| seat.id == freed.seat);
        let seat = seat.ok_or(Why::Overtaken)?;
        seat.player = None;
        seat.member = None;
        seat.by_organiser = false;
        for key in self.keys.values_mut() {
            let opens = Opens::Seat {
                seat: freed.seat.clone(),
            };
            if key.opens == opens && key.revoked_at.is_none() {
                key.revoked_at = Some(freed.at.clone());
            }
        }
        for invitation in self.invitations.values_mut() {
            if invitation.seat == freed.seat && is_good(invitation) {
                invitation.voided_at = Some(freed.at.clone());
            }
        }
        Ok(())
    }

    fn take_seat(&mut self, taken: &TakenSeat) -> Done {
        let TakenSeat {
            seat,
            player,
            number,
            by_organiser,
            key,
            ..
        } = taken;
        let Origin::Invitation { invitation, .. } = &key.origin else {
            panic!("no seat's key: {key:?}");
        };
        let spent = self.invitations.get_mut(invitation);
        let spent = spent.filter(|kept| is_good(kept)).ok_or(Why::Overtaken)?;
        spent.used_at = Some(key.made_at.clone());
        let mut seats = self.games.values_mut().flat_map(|game| &mut game.seats);
        let taken = seats.find(|kept| kept.id == *seat && kept.player.is_none());
        let taken = taken.ok_or(Why::Overtaken)?;
        taken.player = Some(player.to_owned());
        taken.reads_after = *number;
        taken.by_organiser = *by_organiser;
        once(self.keys.insert(key.id.clone(), key.clone()))
    }

    pub fn listed(&self, readers: Readers, after: Option<GameId>, limit: usize) -> Vec<StoredGame> {
        let may = |stored_game: &&StoredGame| match readers {
            Readers::All => true,
            Readers::OpenAnd(own) => stored_game.open_to_all || own == Some(stored_game.id),
            // Nobody here is a member.
            Readers::Member(_) => stored_game.open_to_all,
        };
        let cards = self.games.values().map(|game| &game.game);
        cards
            .filter(|stored_game| after.is_none_or(|after| stored_game.id > after))
            .filter(may)
            .take(limit)
            .cloned()
            .collect()
    }
}

fn is_good(invitation: &Invitation) -> bool {
    invitation.used_at.is_none() && invitation.voided_at.is_none()
}

fn once<T>(before: Option<T>) -> Done {
    match before {
        None => Ok(()),
        Some(_) => Err(Why::Overtaken),
    }
}
