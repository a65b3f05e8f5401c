//! What clients were told, held against the records.

use std::collections::BTreeMap;

use fieldpost_rules::game::Event;
use fieldpost_rules::record::Entry;
use fieldpost_rules::record::audit::{Line, audit};
use serde_json::Value;

/// A posting. Its number stands in the record with the turn that it played.
#[derive(Debug, Clone)]
pub struct Posting {
    pub game: String,
    /// 32 bytes in hexadecimal that no other posting has.
    pub number: String,
    pub written_for: String,
    pub turn: u64,
    pub key: String,
    pub sheet: Value,
}

/// What a client knows of a posting.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Fate {
    /// Accepted; the head after it.
    Accepted(String),
    /// Somebody was first.
    Overtaken,
    /// Refused, although nothing is wrong with it.
    Wrong(String),
    /// Never answered for good.
    Unknown(String),
}

/// A posting and what became of it.
pub type Told = (Posting, Fate);

/// Whatever should not be: in the records by themselves, or between them and what clients were told.
pub fn faults(fates: &[Told], records: &BTreeMap<String, String>) -> Vec<String> {
    let mut faults = Vec::new();
    let mut kept: BTreeMap<(&str, String), u32> = BTreeMap::new();
    for (game, text) in records {
        match read(text) {
            Ok(lines) => {
                if let Err(fault) = audit(&lines) {
                    faults.push(format!("{game} does not audit: {fault}"));
                }
                for number in lines.iter().filter_map(number_in) {
                    *kept.entry((game, number)).or_default() += 1;
                }
            }
            Err(fault) => faults.push(format!("{game} cannot be read: {fault}")),
        }
    }
    faults.extend(
        kept.iter()
            .filter(|(_, times)| **times > 1)
            .map(|((game, number), times)| format!("doubled: {number} is {times} times in {game}")),
    );
    for (posting, fate) in fates {
        let is_kept = kept
            .remove(&(posting.game.as_str(), posting.number.clone()))
            .is_some();
        let name = format!("{} in {}", posting.number, posting.game);
        match fate {
            Fate::Accepted(head) => {
                let record = records.get(&posting.game).map_or("", String::as_str);
                if !is_kept || !record.contains(head.as_str()) {
                    faults.push(format!("lost: {name} was accepted"));
                }
            }
            Fate::Overtaken if is_kept => faults.push(format!(
                "{name} was told that it was overtaken, and is in the record"
            )),
            Fate::Overtaken => {}
            Fate::Wrong(why) => faults.push(format!("{name} was refused: {why}")),
            Fate::Unknown(why) => faults.push(format!("{name} never had an answer: {why}")),
        }
    }
    faults.extend(
        kept.keys()
            .map(|(game, number)| format!("nobody posted {number} in {game}")),
    );
    faults
}

fn read(text: &str) -> Result<Vec<Line>, String> {
    text.lines()
        .map(|line| serde_json::from_str(line).map_err(|error| error.to_string()))
        .collect()
}

/// The number of the posting whose turn an entry closes.
fn number_in(line: &Line) -> Option<String> {
    let entry: Entry = serde_json::from_str(&line.body).ok()?;
    match entry.event {
        Event::TurnClosed { dice, .. } => Some(dice.number),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::clients::Game;
    use crate::servers::{Place, Server};
    use fieldpost_tests::programs::program;

    /// Three true postings in a true record, then each thing that must not be.
    #[test]
    fn what_must_not_be_is_seen() {
        let place = Place::file();
        let server = Server::start(&place, || program("fieldpost-server"));
        let game = Game::open(&server.address, &place);
        let mut fates = Vec::new();
        for number in 1..=3 {
            let posting = game.next([number; 32]);
            let answer = posting.send(&server.address).expect("answered");
            let head = answer.json()["head"]["hash"]
                .as_str()
                .expect("accepted")
                .to_owned();
            fates.push((posting, Fate::Accepted(head)));
            assert!(game.look(&server.address));
        }
        let record = game.record(&server.address);
        let records = BTreeMap::from([(game.id.clone(), record.clone())]);
        assert_eq!(faults(&fates, &records), Vec::<String>::new());

        let with = |change: &dyn Fn(&mut Vec<Told>)| {
            let mut changed = fates.clone();
            change(&mut changed);
            faults(&changed, &records).join("; ")
        };
        let lost = with(&|fates| fates.push((game.next([9; 32]), Fate::Accepted("00".to_owned()))));
        assert!(lost.contains("lost"), "{lost}");
        let ghost = with(&|fates| fates.truncate(2));
        assert!(ghost.contains("nobody posted"), "{ghost}");
        let denied = with(&|fates| fates[1].1 = Fate::Overtaken);
        assert!(denied.contains("is in the record"), "{denied}");
        let silent = with(&|fates| fates.push((game.next([9; 32]), Fate::Unknown(String::new()))));
        assert!(silent.contains("never had an answer"), "{silent}");
        let lines: Vec<&str> = record.lines().collect();
        let doubled = [&lines[..], &lines[lines.len() - 2..]].concat().join("\n");
        let doubled = faults(&fates, &BTreeMap::from([(game.id.clone(), doubled)])).join("; ");
        assert!(
            doubled.contains("doubled") && doubled.contains("does not audit"),
            "{doubled}"
        );
        let half = lines[..lines.len() - 1].join("\n");
        let half = faults(&fates, &BTreeMap::from([(game.id.clone(), half)])).join("; ");
        assert!(half.contains("lost"), "{half}");
    }
}
