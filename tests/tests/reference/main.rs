//! The referee's figures against outside references: general libraries and published values.

mod geometry_clip;
mod geometry_cover;
mod geometry_distance;
mod geometry_geos;
mod geometry_lines;
mod geometry_random;
mod geometry_sweep;
mod placing;
mod study;
mod study_dice;
mod trials;
