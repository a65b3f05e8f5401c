//! The server over HTTP. Each file of a resource owns its routes and handlers; extractors are in `extract`, what every
//! request passes in `router`; errors become answers in `problem`. All routes are described in `API.md`.

mod actions;
mod answer_body;
mod app;
mod assets;
mod body;
mod description;
mod drafts;
mod error;
mod event_stream;
mod extract;
mod games;
mod headers;
mod health;
mod instructions;
mod keys;
mod members;
mod news;
mod notices;
mod openapi;
mod own_page;
mod page_address;
mod posting;
mod problem;
mod rate_limit;
mod record;
mod request_log;
mod router;
mod routes;
mod seats;
mod sessions;
mod sheets;
mod signing_keys;
mod strict_json;
mod table;

pub(crate) use app::{Limits, Shared};
pub(crate) use page_address::PageAddress;
pub(crate) use router::router;
pub use router::{document, page};
