//! Faults put into the store on purpose, to see that the tests of crashes find them. They are there only in
//! a build with the feature `mutants`, which no release has; otherwise each question here is a constant.

/// Whether the fault of that name, in `FIELDPOST_MUTANT`, is asked for: `answer-first`, `no-transaction`
/// or `no-idempotency`.
#[cfg(feature = "mutants")]
pub(super) fn is(name: &str) -> bool {
    std::env::var("FIELDPOST_MUTANT").is_ok_and(|requested| requested == name)
}

/// Never.
#[cfg(not(feature = "mutants"))]
pub(super) const fn is(_: &str) -> bool {
    false
}
