//! Games played in a real browser: Debian's chromium, driven through its driver. Where either is missing the tests say so and
//! are skipped.

mod accessibility;
mod driver;
mod host;
mod hostile;
mod keyboard;
mod person;
mod postings;
mod turns;
