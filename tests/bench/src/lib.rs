//! Only benches live here.
