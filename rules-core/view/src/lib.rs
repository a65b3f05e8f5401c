//! What people look at: words, a text table, pictures; of a game, of a verdict, of news.

mod around;
pub mod compass;
mod fates;
pub mod measure_words;
mod places;
pub mod placing;
pub mod plot;
pub mod print;
pub mod replay;
#[cfg(test)]
mod sample;
pub mod svg;
pub mod text;
pub mod words;

pub use around::around;
