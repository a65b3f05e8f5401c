//! What the command lines of both programs share: manual pages, examples within help, and the system's errors in plain
//! words.

mod examples;
mod manual_pages;
mod system_errors;

pub use examples::with_own_examples;
pub use manual_pages::{manual_page, write_manual_pages};
pub use system_errors::in_plain_words;
