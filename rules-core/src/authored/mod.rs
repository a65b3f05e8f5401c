//! Reading rulesets and scenarios from TOML text, with every fault, its place and a remedy.
