//! What the server's page is checked against: vectors from the core for the only arithmetic that its script does.

mod legs;
mod scripts;
