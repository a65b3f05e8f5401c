//! Pictures that a command draws.

use std::path::PathBuf;

use clap::{Args, ValueEnum};

/// Files to draw to.
#[derive(Debug, Default, Args)]
pub struct Pictures {
    /// Draw to this SVG file, "-" for standard output.
    #[arg(long, value_name = "FILE")]
    pub svg: Option<PathBuf>,
    /// Draw to this PNG file.
    #[arg(long, value_name = "FILE")]
    pub png: Option<PathBuf>,
    /// Show the picture in this terminal: by itself where the terminal says it can, else as blocks of colour.
    #[arg(
        long,
        value_enum,
        value_name = "WAY",
        num_args = 0..=1,
        require_equals = true,
        default_missing_value = "auto"
    )]
    pub show: Option<ShowMethod>,
}

/// How a terminal shows a picture.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum ShowMethod {
    /// By the graphics protocol that the terminal announces, else in blocks of colour.
    Auto,
    /// By the kitty graphics protocol.
    Kitty,
    /// By the inline image sequence, OSC 1337.
    Inline,
    /// Two coloured pixels to a character.
    Blocks,
}

/// Files to draw to, and which of a sheet's orders.
#[derive(Debug, Default, Args)]
pub struct OrderPictures {
    /// Draw this order of the sheet with its tape, counted from 1 [else the first move refused, else the table after them].
    #[arg(long, value_name = "NUMBER", value_parser = clap::value_parser!(u16).range(1..))]
    pub order: Option<u16>,
    /// Files to draw to.
    #[command(flatten)]
    pub files: Pictures,
}
