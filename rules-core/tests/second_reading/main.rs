//! A second reading of the laws of measurement: written from the laws alone, slow and simple, sampled and
//! halved, and compared with the referee over tables worked by hand, random tables and lattices.
//!
//! It shares nothing with the referee but points, poses and the authors' files.
#![allow(
    clippy::disallowed_methods,
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::type_complexity,
    clippy::collapsible_if,
    clippy::redundant_closure,
    clippy::needless_range_loop,
    clippy::nonminimal_bool,
    missing_docs,
    reason = "nothing here is stored or played: the standard library's arithmetic will do"
)]

mod battle_cases;
mod cases;
mod chance;
mod closing;
mod compare;
mod costs;
mod declarations;
mod fighting;
mod generate;
mod giving_ground;
mod ground;
mod legs;
mod limits;
mod lines;
mod moves;
mod odds;
mod patches;
mod paths;
mod plane;
mod search;
mod sheets;
mod shrink;
mod stops;
mod support;
mod sweep;
mod table;
mod twins;
mod worked;
mod zones;
