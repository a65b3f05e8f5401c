//! The commands about the keys that seats sign with.

use clap::{Args, Subcommand};

/// `keys`.
#[derive(Debug, Args)]
#[command(
    after_help = "Each device that plays a seat has a key of its own, kept beside the seat's other secrets.\n\
Keys are named as 64 hexadecimal digits, and shown in digits that two people can read to each other.\n\n\
Examples:\n  fieldpost keys\n  fieldpost keys list\n  fieldpost keys new\n  \
fieldpost keys add 3b6a27bcceb6a42d62a3a8d02a6f0d73653215771de243a63ac048a18b59da29\n  \
fieldpost keys remove 3b6a27bcceb6a42d62a3a8d02a6f0d73653215771de243a63ac048a18b59da29\n  \
fieldpost keys replace 0123456789abcdef 3b6a27bcceb6a42d62a3a8d02a6f0d73653215771de243a63ac048a18b59da29 \"A lost laptop.\"\n  \
fieldpost keys countersign 0123456789abcdef 3b6a27bcceb6a42d62a3a8d02a6f0d73653215771de243a63ac048a18b59da29"
)]
pub struct KeysArgs {
    /// What to do with them; they are listed otherwise.
    #[command(subcommand)]
    pub command: Option<KeysCommand>,
}

/// What can be done with keys.
#[derive(Debug, Subcommand)]
pub enum KeysCommand {
    /// List the keys of every seat.
    List,
    /// Make a key of this machine for a seat that is kept here, to be added from a device that signs for it.
    New,
    /// Add another device's key to your seat.
    Add {
        /// The key's public part: 64 hexadecimal digits.
        #[arg(value_name = "PUBLIC")]
        public: String,
    },
    /// End a key of your seat.
    Remove {
        /// The key's public part: 64 hexadecimal digits.
        #[arg(value_name = "PUBLIC")]
        public: String,
    },
    /// Put a key in the place of those that a seat has lost (organiser): in force when the other side countersigns, or
    /// after three days.
    Replace {
        /// The seat's id, which "fieldpost keys" lists.
        id: String,
        /// The key's public part: 64 hexadecimal digits.
        #[arg(value_name = "PUBLIC")]
        public: String,
        /// Why, for everybody to read.
        reason: String,
    },
    /// Say that a key which the organiser put in place is the other side's player's, best after hearing it read aloud.
    Countersign {
        /// The seat's id, which "fieldpost keys" lists.
        id: String,
        /// The key's public part: 64 hexadecimal digits.
        #[arg(value_name = "PUBLIC")]
        public: String,
    },
}
