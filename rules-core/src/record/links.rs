//! The links of an exported record: their text, their hashes and how they hang together.

use std::fmt;

use serde::{Deserialize, Serialize};
use serde_json::Value;

use crate::dice::Bytes32;
use crate::game::Event;
use crate::verdict::{Reason, sentence_in_tenths};

use super::{BEFORE_THE_FIRST, Entry, Posted, canonical, hash_of};

/// One line of an exported record.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Line {
    /// Number of the entry, from 1.
    pub number: u64,
    /// Hash of its body in hex.
    pub hash: String,
    /// The stored text.
    pub body: String,
}

/// Where and how a record is not sound.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct AuditFault {
    /// Number of the entry.
    pub entry: u64,
    /// What is wrong.
    pub fault: String,
}

impl fmt::Display for AuditFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "entry {}: {}", self.entry, self.fault)
    }
}

impl std::error::Error for AuditFault {}

pub(super) fn fault(entry: u64, fault: impl Into<String>) -> AuditFault {
    AuditFault {
        entry,
        fault: fault.into(),
    }
}

/// One entry of a chain that holds.
pub(super) struct Link<'a> {
    pub(super) entry: Entry,
    body: &'a str,
    pub(super) hash: Bytes32,
}

impl Link<'_> {
    /// Whether its text is what this event writes in its place: then it is in canonical form as well.
    pub(super) fn tells(&self, event: &Event) -> bool {
        #[derive(Serialize)]
        struct Told<'a> {
            number: u64,
            previous: &'a str,
            at: &'a str,
            event: &'a Event,
            #[serde(skip_serializing_if = "Option::is_none")]
            posted: Option<&'a Posted>,
        }
        let Entry {
            number,
            previous,
            at,
            posted,
            ..
        } = &self.entry;
        let told = Told {
            number: *number,
            previous,
            at,
            event,
            posted: posted.as_ref(),
        };
        canonical(&told).ok().as_deref() == Some(self.body)
            || matches!(event, Event::SheetAccepted { .. }) && self.tells_in_tenths(&told)
    }

    /// Whether its text is what an earlier version wrote in its place: the same figures, and sentences that have
    /// all of theirs in tenths.
    fn tells_in_tenths(&self, told: &impl Serialize) -> bool {
        let Ok(mut told) = serde_json::to_value(told) else {
            return false;
        };
        put_in_tenths(&mut told);
        canonical(&told).ok().as_deref() == Some(self.body)
    }

    pub(super) fn check_form(&self) -> Result<(), AuditFault> {
        if self.tells(&self.entry.event) {
            return Ok(());
        }
        let told = "its text is not in canonical form";
        Err(fault(self.entry.number, told))
    }
}

/// Puts the sentence of every reason in it as earlier versions wrote it.
fn put_in_tenths(value: &mut Value) {
    match value {
        Value::Array(items) => items.iter_mut().for_each(put_in_tenths),
        Value::Object(fields) => {
            fields.values_mut().for_each(put_in_tenths);
            if fields.contains_key("ruling")
                && fields.contains_key("text")
                && let Ok(reason) = Reason::deserialize(Value::Object(fields.clone()))
            {
                fields.insert("text".to_owned(), sentence_in_tenths(&reason).into());
            }
        }
        _ => {}
    }
}

/// Every entry, the chain checked. Whether its text is in canonical form is left to be seen when its
/// event is played again: to write each once is most of what an audit takes.
pub(super) fn read_chain(lines: &[Line]) -> Result<Vec<Link<'_>>, AuditFault> {
    let mut entries = Vec::with_capacity(lines.len());
    let mut previous = BEFORE_THE_FIRST;
    for (line, number) in lines.iter().zip(1..) {
        let hash = hash_of(line.body.as_bytes());
        if hex::encode(hash) != line.hash {
            return Err(fault(
                number,
                "its text does not have the hash given beside it",
            ));
        }
        let entry: Entry = serde_json::from_str(&line.body).map_err(|error| {
            fault(
                number,
                format!("its text is not an entry of a record: {error}"),
            )
        })?;
        if entry.number != number || line.number != number {
            return Err(fault(
                number,
                format!(
                    "it is numbered {}: an entry is missing, doubled or moved",
                    entry.number
                ),
            ));
        }
        if entry.previous != hex::encode(previous) {
            return Err(fault(
                number,
                "it does not follow from the entry before it: the chain is broken",
            ));
        }
        entries.push(Link {
            entry,
            body: &line.body,
            hash,
        });
        previous = hash;
    }
    Ok(entries)
}
