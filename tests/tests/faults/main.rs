//! Servers that are killed, disks that are full, and what must hold all the same: no answered posting is
//! lost, none is half done, none comes twice, and every record audits.
//!
//! Every day a few kills are tried. `FIELDPOST_TEST_KILLS` asks for more, `FIELDPOST_TEST_SEED` for others.

mod books;
mod clients;
mod kills;
mod mutants;
mod servers;
mod space;
