//! A whole game to be watched: its moments, as a page that needs neither server nor network, or as one
//! animated picture.

mod animation;
mod moments;
mod page;
#[cfg(test)]
mod tests;

pub use animation::animation;
pub use moments::{Moment, moments};
pub use page::page;
