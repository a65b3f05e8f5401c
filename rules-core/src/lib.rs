//! The referee: measures orders on a gridless table and says why.
//!
//! Rooms, from the ground up; each uses only those above it in this list:
//!
//! | room | holds |
//! | --- | --- |
//! | [`geometry`] | points, poses, footprints, distance, sweeps; numbers only |
//! | [`ruleset`], [`scenario`] | what authors write |
//! | [`orders`] | the turn sheet: as typed text and as data |
//! | [`verdict`] | ledgers, limits, reasons: the vocabulary of answers |
//! | [`game`] | the table and whose turn it is: the fold of events |
//! | [`authored`] | reading authors' files, with every fault and its place |
//! | [`shipped`] | the files that come with the referee |
//! | [`referee`] | one file a law |
//! | [`dice`], [`record`] | throws; chain, export, audit |
//! | [`commander`] | a plain automatic commander |
//! | [`study`] | a results table as exact chances and losses; trials of whole battles |
//! | [`convert`] | a board game's numbers as table distances; the largest base for a table |
//! | [`view`] | words, text table, SVG; the printed table, the replay, placing units in a picture |

pub use fieldpost_geometry as geometry;

pub mod authored;
pub mod dice;
pub mod game;
pub mod orders;
pub mod record;
pub mod referee;
pub mod ruleset;
pub mod sanitize;
pub mod scenario;
pub mod shipped;
pub mod verdict;
