//! `replay`: a whole game to be watched.

use std::path::Path;

use fieldpost_rules::game::Game;
use fieldpost_rules::view::replay::{animation, moments, page};
use serde_json::json;

use super::story::Ask;
use crate::failure::{Failure, Outcome};
use crate::keep::files;
use crate::out::Out;
use crate::typed::{Common, ReplayArgs};

/// Writes the page and the picture asked for.
///
/// # Errors
/// When the game cannot be read, or a file not be written.
pub fn replay(args: &ReplayArgs, common: &Common, out: Out) -> Outcome {
    let ask = if args.offline {
        Ask::Nobody
    } else {
        Ask::Server
    };
    let told = args.source.told(args.after, ask, common, out)?;
    let Some(record) = &told.record else {
        return Err(Failure::Usage(
            "a battle at its opening has nothing to play yet; name a record, or a seat".to_owned(),
        ));
    };
    let opening = Game::new(record.battlefield()?);
    let entries = record.entries().iter();
    let shown = entries.take_while(|entry| entry.number <= told.number);
    let all = moments(&opening, shown.map(|entry| &entry.event));
    if let Some(path) = &args.page {
        put(path, page(&all).as_bytes(), out)?;
    }
    if let Some(path) = &args.svg {
        put(path, animation(&all).as_bytes(), out)?;
    }
    if out.json {
        let titles: Vec<&str> = all.iter().map(|moment| moment.title.as_str()).collect();
        out.json(&json!({ "page": args.page, "svg": args.svg, "moments": titles }))?;
    }
    Ok(())
}

fn put(path: &Path, bytes: &[u8], out: Out) -> Outcome {
    if path.as_os_str() == "-" {
        return out.raw(bytes);
    }
    files::write_plain(path, bytes)?;
    out.remark(&format!("written to {}", path.display()));
    Ok(())
}
