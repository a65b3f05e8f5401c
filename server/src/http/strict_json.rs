//! JSON bodies read strictly: every key known and given once, nothing nested without end, no whole
//! number that another program would round, and faults reported with their place.

use std::collections::BTreeSet;
use std::fmt;

use serde::de::{
    DeserializeOwned, DeserializeSeed, Deserializer, Error, MapAccess, SeqAccess, Visitor,
};
use serde_path_to_error::Segment;

use super::error::JsonError;
use super::problem::pointer_part;

/// Deeper than anything the wire types hold.
const DEEPEST: usize = 24;
/// Beyond it not every whole number is a double (RFC 8259, section 6).
const GREATEST: u64 = (1 << 53) - 1;

/// Reads a body.
pub(super) fn read<T: DeserializeOwned>(body: &[u8]) -> Result<T, JsonError> {
    look_over(body)?;
    let mut json = serde_json::Deserializer::from_slice(body);
    serde_path_to_error::deserialize(&mut json).map_err(|error| {
        let pointer = pointer_of(error.path());
        JsonError {
            pointer: Some(pointer),
            ..json_error(error.inner())
        }
    })
}

fn look_over(body: &[u8]) -> Result<(), JsonError> {
    let mut json = serde_json::Deserializer::from_slice(body);
    Look { depth: 0 }
        .deserialize(&mut json)
        .and_then(|()| json.end())
        .map_err(|error| json_error(&error))
}

/// serde_json's own words without the place, which has members of its own.
fn json_error(error: &serde_json::Error) -> JsonError {
    let words = error.to_string();
    let place = format!(" at line {} column {}", error.line(), error.column());
    let has_place = error.line() > 0;
    JsonError {
        detail: format!("{}.", words.strip_suffix(&place).unwrap_or(&words)),
        pointer: None,
        line: has_place.then(|| error.line()),
        column: has_place.then(|| error.column().max(1)),
    }
}

fn pointer_of(path: &serde_path_to_error::Path) -> String {
    let mut pointer = String::new();
    for segment in path {
        match segment {
            Segment::Seq { index } => pointer.push_str(&format!("/{index}")),
            Segment::Map { key } => pointer.push_str(&format!("/{}", pointer_part(key))),
            Segment::Enum { .. } | Segment::Unknown => {}
        }
    }
    pointer
}

/// Walks a value and keeps nothing but the keys of the objects it stands in.
#[derive(Clone, Copy)]
struct Look {
    depth: usize,
}

impl Look {
    fn deeper<E: Error>(self) -> Result<Self, E> {
        if self.depth >= DEEPEST {
            return Err(E::custom(format!("nested deeper than {DEEPEST}")));
        }
        Ok(Self {
            depth: self.depth + 1,
        })
    }
}

impl<'de> DeserializeSeed<'de> for Look {
    type Value = ();

    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<(), D::Error> {
        deserializer.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for Look {
    type Value = ();

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("JSON")
    }

    fn visit_bool<E>(self, _: bool) -> Result<(), E> {
        Ok(())
    }

    fn visit_i64<E: Error>(self, number: i64) -> Result<(), E> {
        self.visit_u64(number.unsigned_abs())
    }

    fn visit_u64<E: Error>(self, number: u64) -> Result<(), E> {
        if number > GREATEST {
            return Err(E::custom(format!(
                "the whole number {number} is beyond ±{GREATEST}"
            )));
        }
        Ok(())
    }

    fn visit_f64<E>(self, _: f64) -> Result<(), E> {
        Ok(())
    }

    fn visit_str<E: Error>(self, text: &str) -> Result<(), E> {
        match text.contains('\0') {
            false => Ok(()),
            true => Err(E::custom("a text holds the character U+0000")),
        }
    }

    fn visit_unit<E>(self) -> Result<(), E> {
        Ok(())
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut items: A) -> Result<(), A::Error> {
        let inner = self.deeper()?;
        while items.next_element_seed(inner)?.is_some() {}
        Ok(())
    }

    fn visit_map<A: MapAccess<'de>>(self, mut members: A) -> Result<(), A::Error> {
        let inner = self.deeper()?;
        let mut keys = BTreeSet::new();
        while let Some(key) = members.next_key::<String>()? {
            if key.contains('\0') {
                return Err(A::Error::custom("a key holds the character U+0000"));
            }
            if keys.contains(&key) {
                return Err(A::Error::custom(format!("the key `{key}` is given twice")));
            }
            keys.insert(key);
            members.next_value_seed(inner)?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use fieldpost_rules::orders::Instructions;
    use fieldpost_wire::{CheckSheet, PostSheet, TakeSeat};

    fn fault<T: DeserializeOwned>(body: &str) -> JsonError {
        match read::<T>(body.as_bytes()) {
            Ok(_) => panic!("{body} was read"),
            Err(bad) => bad,
        }
    }

    #[test]
    fn an_unknown_key_is_told_with_its_place() {
        let bad = fault::<TakeSeat>("{\"invitation\": \"x\",\n \"playr\": \"Ann\"}");
        assert_eq!((bad.line, bad.column), (Some(2), Some(8)));
        assert!(bad.detail.contains("unknown field `playr`"), "{bad:?}");
    }

    #[test]
    fn a_repeated_key_is_refused_even_where_a_map_would_take_the_last() {
        let bad =
            fault::<Instructions>(r#"{"units": {"red-1": {}, "red-1": {"follow_up": true}}}"#);
        assert!(bad.detail.contains("`red-1` is given twice"), "{bad:?}");
    }

    #[test]
    fn a_wrong_type_deep_in_a_sheet_is_pointed_at() {
        let bad = fault::<CheckSheet>(
            r#"{"sheet":{"game_turn":1,"side":"red","orders":[{"order":"leave","unit":"a"},{"order":"leave","unit":7}]}}"#,
        );
        assert_eq!(bad.pointer.as_deref(), Some("/sheet/orders/1"), "{bad:?}");
        assert!(bad.line.is_some(), "{bad:?}");
    }

    #[test]
    fn numbers_out_of_reach_and_no_numbers_are_refused() {
        for body in [
            r#"{"sheet":{"game_turn":NaN,"side":"red","orders":[]},"number":""}"#,
            r#"{"sheet":{"game_turn":1e999,"side":"red","orders":[]},"number":""}"#,
            r#"{"sheet":{"game_turn":-1,"side":"red","orders":[]},"number":""}"#,
            r#"{"sheet":{"game_turn":9007199254740993,"side":"red","orders":[]},"number":""}"#,
        ] {
            fault::<PostSheet>(body);
        }
    }

    #[test]
    fn deep_nesting_is_refused_before_it_hurts() {
        let bad = fault::<CheckSheet>(&format!("{}1", "[".repeat(100_000)));
        assert!(bad.detail.contains("nested deeper"), "{bad:?}");
    }

    #[test]
    fn a_text_that_no_database_takes_is_refused() {
        for body in [
            r#"{"invitation":"x","player":"A\u0000nn"}"#,
            r#"{"invitation":"x","play\u0000er":"Ann"}"#,
        ] {
            let bad = fault::<TakeSeat>(body);
            assert!(
                bad.detail.contains("U+0000") && bad.line == Some(1),
                "{bad:?}"
            );
        }
    }

    #[test]
    fn something_after_the_end_is_refused() {
        fault::<TakeSeat>(r#"{"invitation":"x","player":"Ann"} {}"#);
    }
}
