//! The Fieldpost server: games over HTTP, kept as an append-only record.
//!
//! Its modules, from the ground up. A module imports only those in the rows above its own; a test reads this table and the
//! imports.
//!
//! | module | holds |
//! | --- | --- |
//! | `html`, [`key`], [`webhook_policy`], [`backoff`], [`measuring`], `held`, `caller_waits`, `rate_limiter`, `metrics`, `page_files`, `qr`, `rendering`, `supervisor`, [`signals`] | the ground: each stands alone |
//! | [`settings`] | how a server is set up |
//! | [`logging`], `rate_limits` | what is logged; how much is taken from one address |
//! | [`store`] | where games are kept; the only module with SQL |
//! | [`channels`] | the ways in which notices leave the server: a trait, and a file for each |
//! | [`service`] | opening, seats, postings, reading: asks the referee and the store, decides no rule |
//! | `lanes` | which notices may be delivered at the same time |
//! | [`dispatcher`] | delivers the notices that are queued |
//! | [`maintenance`], [`organiser_key`] | backing up, restoring, moving, checking; the first key |
//! | [`http`] | routes, extractors, middleware, problem documents |
//! | `serve` | connections and TLS |
//! | [`server`] | a process from its settings to its end |
//! | [`command`] | the command line |
//! | [`demo`] | two player turns played over HTTP |
//!
//! The routes are described in `API.md`; `DESIGN.md` says why things are as they are.

#![expect(
    clippy::duplicate_mod,
    reason = "store/queries is compiled once for each database"
)]

pub mod backoff;
mod caller_waits;
pub mod channels;
pub mod command;
pub mod demo;
pub mod dispatcher;
mod held;
mod html;
pub mod http;
pub mod key;
mod lanes;
pub mod logging;
pub mod maintenance;
pub mod measuring;
mod metrics;
pub mod organiser_key;
mod page_files;
mod qr;
mod rate_limiter;
mod rate_limits;
mod rendering;
mod serve;
pub mod server;
pub mod service;
pub mod settings;
pub mod signals;
pub mod store;
mod supervisor;
pub mod webhook_policy;
