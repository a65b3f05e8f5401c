//! The post office: games over HTTP, kept as an append-only record.

pub mod key;
pub mod office;
mod rules;
pub mod store;
pub mod wire;
