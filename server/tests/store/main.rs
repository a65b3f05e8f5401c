//! The store by itself, each behaviour on both databases: what is written is there, what fails leaves
//! nothing, whoever comes second is told so.

mod authority;
mod behaviour;
mod fixtures;
mod model;
mod model_machine;
mod notices;
mod on_postgres;
mod sessions;
