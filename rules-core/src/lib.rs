//! The referee: measures orders on a gridless table and says why.
//!
//! ```
//! use std::sync::Arc;
//! use fieldpost_rules::{game::Game, orders::text, referee, shipped};
//!
//! let battle = shipped::find("quern-bridge").expect("it comes with the crate");
//! let game = Game::new(Arc::new(battle.open().expect("its files are sound")));
//! let sheet = text::parse("sheet", "red-2: forward 300 mm", &game).expect("it reads");
//! let verdict = referee::judge_sheet(&game, &sheet);
//! assert_eq!(verdict.verdict.word(), "refused");
//! ```
//!
//! Modules, from the ground up; each imports only those above it in this list:
//!
//! | module | holds |
//! | --- | --- |
//! | [`geometry`] | points, poses, footprints, distance, sweeps; numbers only; a crate of its own |
//! | [`interruption`] | ending long work before it is done |
//! | [`sanitize`] | names from people made harmless for terminals and XML |
//! | [`ruleset`], [`scenario`] | what authors write |
//! | [`orders`] | the turn sheet: as typed text and as data |
//! | [`verdict`] | ledgers, limits, reasons: the vocabulary of answers |
//! | [`game`] | the table and whose turn it is: the fold of events |
//! | [`clock`] | how long each side may think: a fold of events and their moments |
//! | [`authored`] | reading authors' files, with every fault and its place |
//! | [`shipped`] | the files that come with the referee |
//! | [`dice`] | throws from committed secrets |
//! | [`referee`] | one file a law |
//! | [`record`] | chain, export, audit |
//!
//! Pictures and words are in `fieldpost-view`, an automatic commander in `fieldpost-commander`, the study of results
//! tables in `fieldpost-study`, the conversion of board games in `fieldpost-convert`.

pub use fieldpost_geometry as geometry;

pub mod authored;
pub mod clock;
pub mod dice;
pub mod game;
pub mod interruption;
pub mod orders;
pub mod record;
pub mod referee;
pub mod ruleset;
pub mod sanitize;
pub mod scenario;
pub mod shipped;
pub mod verdict;
