//! The check vectors of the manual's page on records, which another implementation made: each is worked out again and
//! must stand on the page.

use sha2::{Digest, Sha256};

use super::{
    Entry, Posted, PostingKind, SignatureFault, Signed, SignedParts, canonical, fingerprint,
    hash_of, public_key, seal_of_instructions, sign, verify,
};
use crate::dice::{Bytes32, Seeds, Throws, commitment};
use crate::orders::{Instruction, Instructions};

fn run(from: u8) -> Bytes32 {
    std::array::from_fn(|i| from + u8::try_from(i).expect("below 32"))
}

fn game() -> [u8; 16] {
    let bytes = hex::decode("0192f0c1e8a07b3c9d4e5f60718293a4").expect("hex");
    bytes.try_into().expect("16 bytes")
}

fn page() -> String {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("manual/record.md");
    std::fs::read_to_string(path).expect("a file of the project")
}

/// The text in backquotes on the page that begins so.
fn quoted(beginning: &str) -> String {
    let page = page();
    let found = page.split('`').skip(1).step_by(2);
    let mut found =
        found.filter(|text| text.starts_with(beginning) && text.len() > beginning.len());
    found
        .next()
        .unwrap_or_else(|| panic!("no {beginning}"))
        .to_owned()
}

fn stands(what: &str) {
    assert!(
        page().contains(&format!("`{what}`")),
        "the page has no {what}"
    );
}

#[test]
fn dice_and_commitment_stand_on_the_page() {
    stands(&hex::encode(commitment(&game(), 7, 1, &run(0x00))));
    let seeds = Seeds {
        game: &game(),
        player_turn: 7,
        attempt: 1,
        secret: &run(0x00),
        number: &run(0x20),
    };
    let dice = Throws::new(&seeds).throw("battle 1", 20, 6);
    let dice: Vec<String> = dice.iter().map(u32::to_string).collect();
    stands(&dice.join(" "));
}

#[test]
fn entry_and_seal_stand_on_the_page() {
    let body = quoted("{\"at\":\"2026-06-01");
    let entry: Entry = serde_json::from_str(&body).expect("an entry");
    assert_eq!(canonical(&entry).expect("canonical"), body);
    stands(&hex::encode(hash_of(body.as_bytes())));
    let instructions: Instructions = serde_json::from_str(&quoted("{\"all\"")).expect("some");
    let all = Instruction {
        follow_up: true,
        give_way: None,
    };
    assert_eq!(instructions.all, all);
    let seal = seal_of_instructions(&run(0x80), &instructions).expect("canonical");
    stands(&hex::encode(seal));
}

fn posted(body: &str) -> Posted {
    Posted {
        seat: "seat-red".to_owned(),
        kind: PostingKind::Sheet,
        precondition: hex::encode(run(0x40)),
        player_turn: 7,
        attempt: 1,
        number: Some(hex::encode(run(0x20))),
        body: body.to_owned(),
        signed: Some(Signed {
            key: hex::encode(public_key(&run(0x60))),
            signature: quoted("72c6"),
        }),
    }
}

#[test]
fn key_fingerprint_and_signature_stand_on_the_page() {
    let key = public_key(&run(0x60));
    stands(&hex::encode(key));
    stands(&fingerprint(&key));
    let body = quoted("{\"sheet\":{\"game_turn\"");
    let parts = SignedParts {
        game: &game(),
        seat: "seat-red",
        kind: PostingKind::Sheet,
        precondition: &run(0x40),
        player_turn: 7,
        attempt: 1,
        body: body.as_bytes(),
        number: Some(&run(0x20)),
    };
    let message = parts.message();
    assert_eq!(message.len(), 168);
    stands(&hex::encode(Sha256::digest(&message)));
    let signature = sign(&run(0x60), &message);
    stands(&hex::encode(signature));
    assert_eq!(verify(&key, &message, &signature), Ok(()));
    assert_eq!(posted(&body).verify(&game()), Ok(Some(key)));
}

/// Each part that is signed, altered.
#[test]
fn a_signature_covers_every_part() {
    let body = quoted("{\"sheet\":{\"game_turn\"");
    let altered = |alter: &dyn Fn(&mut Posted)| {
        let mut posted = posted(&body);
        alter(&mut posted);
        posted.verify(&game())
    };
    for alter in [
        &(|posted: &mut Posted| posted.seat.push('x')) as &dyn Fn(&mut Posted),
        &|posted| posted.kind = PostingKind::Ruling,
        &|posted| posted.precondition = hex::encode(run(0x41)),
        &|posted| posted.player_turn += 1,
        &|posted| posted.attempt += 1,
        &|posted| posted.number = None,
        &|posted| posted.body.push(' '),
    ] {
        assert_eq!(altered(alter), Err(SignatureFault::Mismatch));
    }
    let upper = |posted: &mut Posted| posted.precondition = posted.precondition.to_uppercase();
    assert_eq!(altered(&upper), Err(SignatureFault::NotHex("precondition")));
    assert_eq!(
        posted(&body).verify(&[0; 16]),
        Err(SignatureFault::Mismatch)
    );
}

#[test]
fn kinds_are_written_as_they_are_signed() {
    for kind in [
        PostingKind::Sheet,
        PostingKind::Instructions,
        PostingKind::KeyCountersigned,
        PostingKind::UmpireAccepted,
    ] {
        let written = serde_json::to_string(&kind).expect("JSON");
        assert_eq!(written, format!("\"{kind}\""));
        stands(kind.name());
    }
}

/// Events have one name, in code and in records.
#[test]
fn events_of_the_stored_records_have_their_names() {
    for name in ["quern-bridge", "three-cairns", "saltway-ridge"] {
        let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("records");
        let text = std::fs::read_to_string(folder.join(format!("{name}.ndjson"))).expect("a file");
        for line in text.lines() {
            let line: super::audit::Line = serde_json::from_str(line).expect("a line");
            let entry: Entry = serde_json::from_str(&line.body).expect("an entry");
            let named = format!("\"event\":\"{}\"", entry.event.kind());
            assert!(line.body.contains(&named), "{named}: {}", line.body);
        }
    }
}
