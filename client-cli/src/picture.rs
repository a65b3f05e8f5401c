//! Pictures: SVG as the rules draw it, and PNG made of that.

use fieldpost_png::{PaintError, Size};
use resvg::tiny_skia::Pixmap;
use serde::Serialize;
use serde_json::json;

use crate::failure::{Failure, Outcome};
use crate::out::Out;
use crate::terminal;
use crate::typed::Pictures;

impl Pictures {
    /// Whether any picture was asked for.
    #[must_use]
    pub fn any(&self) -> bool {
        self.svg.is_some() || self.png.is_some() || self.show.is_some()
    }

    /// Draws to the files asked for, or tells the same in words where none is. As JSON it answers with
    /// the data and, where there are pictures, `drawn`: the files they went to.
    ///
    /// # Errors
    /// When a file cannot be written.
    pub fn answer(
        &self,
        svg: impl FnOnce() -> String,
        data: &impl Serialize,
        words: impl FnOnce() -> String,
        out: Out,
    ) -> Outcome {
        if !self.any() {
            return out.result(data, words);
        }
        self.draw(&svg(), out)?;
        if !out.json {
            return Ok(());
        }
        let mut data = serde_json::to_value(data)
            .map_err(|error| Failure::Plain(format!("cannot be put as JSON: {error}")))?;
        data["drawn"] = json!({ "svg": self.svg, "png": self.png });
        out.json(&data)
    }

    /// Draws to the files asked for.
    ///
    /// # Errors
    /// When one cannot be written.
    pub fn draw(&self, svg: &str, out: Out) -> Outcome {
        if let Some(path) = &self.svg {
            out.put(path, svg.as_bytes(), "drawn")?;
        }
        if let Some(path) = &self.png {
            out.put(path, &png(svg)?, "drawn")?;
        }
        if let Some(way) = self.show {
            out.raw(terminal::shown(svg, way)?.as_bytes())?;
        }
        Ok(())
    }
}

/// An SVG picture as PNG: the same bytes everywhere.
///
/// # Errors
/// When the picture is too large to be painted.
pub fn png(svg: &str) -> Outcome<Vec<u8>> {
    fieldpost_png::png(svg).map_err(|error| failed(&error))
}

fn failed(why: &PaintError) -> Failure {
    Failure::Plain(format!("cannot paint the picture: {why}"))
}

/// An SVG picture as pixels, so many wide.
///
/// # Errors
/// As [`png`].
pub fn painted(svg: &str, width: u32) -> Outcome<Pixmap> {
    let size = Size {
        width: Some(width),
        ..Size::default()
    };
    fieldpost_png::painted(svg, size).map_err(|error| failed(&error))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_no_picture_is_a_failure() {
        assert_eq!(png("nonsense").unwrap_err().exit_code(), 1);
    }
}
