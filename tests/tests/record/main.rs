//! Records by post: signed by every seat, forged in every way, read by a second program.

mod forged;
mod host;
mod post;
mod sound;
mod tampered;
mod verifier;
