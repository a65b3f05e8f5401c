//! A process that does nothing: what starting one costs at the least.

fn main() {}
