//! Words, text tables and SVG of a game or a verdict.
