//! What is drawn, measured on the picture itself: shapes are read out of the SVG and taken back to millimetres.

mod changes;
mod drawn;
mod letters;
mod orders;
