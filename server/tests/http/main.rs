//! The real server, started on a free port and driven over real HTTP.

mod browser;
mod cache;
mod clocks;
mod connections;
mod demonstration;
mod drafts;
mod drawings;
mod event_stream;
mod files;
mod games;
mod host;
mod hostile;
#[cfg(unix)]
mod http2;
mod instructions;
mod limits;
mod maintenance;
mod malformed;
mod members;
mod middleware;
mod notices;
mod page;
mod reads;
mod restart;
mod seats;
mod secrets;
mod sessions;
mod sheets;
mod signed;
mod stalling;
#[cfg(unix)]
mod tls;
