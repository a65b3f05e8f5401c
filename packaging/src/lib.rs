//! Makes what is handed out to people without a compiler: archives for Linux and Windows, a Debian package, the list of what is
//! inside, checksums. The same tree gives the same bytes: every time in them is that of the last commit
//! (or `SOURCE_DATE_EPOCH`), and everything is in order of its name.
//!
//! | module | holds |
//! | --- | --- |
//! | [`tree`] | files on their way into a package |
//! | [`release`] | which version, of which time, from where |
//! | [`build`] | the programs, built; their manual pages and completions, asked of them |
//! | [`dependencies`] | what the programs are made of |
//! | [`inventory`] | that as a CycloneDX list |
//! | [`licences`] | that as licences and their texts |
//! | [`linked`] | what a program wants of the system it runs on |
//! | [`layout`] | which file goes where in which package |
//! | [`archive`], [`debian`] | the packages' forms |

pub mod archive;
pub mod build;
pub mod debian;
pub mod dependencies;
pub mod inventory;
pub mod layout;
pub mod licences;
pub mod linked;
pub mod release;
pub mod tree;

/// What a step gives, or why it could not, in words.
pub type Packed<T = ()> = Result<T, String>;
