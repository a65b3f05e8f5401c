//! Pictures: SVG as the rules draw it, and PNG made of that with a font of our own.

use std::sync::Arc;

use resvg::tiny_skia::{Pixmap, Transform};
use resvg::usvg::{Options, Tree, fontdb};
use serde::Serialize;
use serde_json::json;

use crate::failure::{Failure, Outcome};
use crate::out::Out;
use crate::terminal;
use crate::typed::Pictures;

/// The family of the embedded font, whatever family a picture asks for.
const FAMILY: &str = "DejaVu Sans";

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

/// An SVG picture as PNG: the same bytes everywhere, for the font is embedded and no other is looked for.
///
/// # Errors
/// When the picture is too large to be painted.
pub fn png(svg: &str) -> Outcome<Vec<u8>> {
    let pixels = painted(svg, None)?;
    pixels.encode_png().map_err(|error| failed(&error))
}

fn failed(why: &dyn std::fmt::Display) -> Failure {
    Failure::Plain(format!("cannot paint the picture: {why}"))
}

/// An SVG picture as pixels, in its own size or so many wide.
///
/// # Errors
/// As [`png`].
pub fn painted(svg: &str, width: Option<u32>) -> Outcome<Pixmap> {
    let tree = tree(svg)?;
    let own = tree.size();
    let scale = width.map_or(1.0, |width| f64::from(width) / f64::from(own.width()));
    // a picture is a few thousand pixels wide
    #[expect(clippy::cast_possible_truncation, reason = "single precision is meant")]
    let scale = scale as f32;
    let size = own
        .scale_by(scale)
        .ok_or_else(|| failed(&"it has no size"))?
        .to_int_size();
    let mut pixels = Pixmap::new(size.width(), size.height()).ok_or_else(|| {
        failed(&format!(
            "{} × {} pixels are too many",
            size.width(),
            size.height()
        ))
    })?;
    resvg::render(
        &tree,
        Transform::from_scale(scale, scale),
        &mut pixels.as_mut(),
    );
    Ok(pixels)
}

/// An SVG picture as a tree, its letters set in the embedded fonts.
///
/// # Errors
/// When it is no picture.
pub fn tree(svg: &str) -> Outcome<Tree> {
    let mut fonts = fontdb::Database::new();
    for font in [
        dejavu::sans::regular(),
        dejavu::sans::bold(),
        dejavu::sans::oblique(),
        dejavu::serif::regular(),
        dejavu::serif::bold(),
        dejavu::serif::italic(),
    ] {
        fonts.load_font_data(font.to_vec());
    }
    fonts.set_sans_serif_family(FAMILY);
    fonts.set_serif_family("DejaVu Serif");
    fonts.set_monospace_family(FAMILY);
    let options = Options {
        font_family: FAMILY.to_owned(),
        fontdb: Arc::new(fonts),
        ..Options::default()
    };
    Tree::from_str(svg, &options).map_err(|error| failed(&error))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn letters_are_painted() {
        let with = |text: &str| {
            format!(
                "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"60\" height=\"20\"><text x=\"2\" y=\"15\" \
                 font-family=\"No Such Face, serif\">{text}</text></svg>"
            )
        };
        let (blank, red) = (png(&with("")).unwrap(), png(&with("Red")).unwrap());
        assert!(red.starts_with(b"\x89PNG"));
        assert_ne!(blank, red);
    }

    #[test]
    fn what_is_no_picture_is_a_failure() {
        assert_eq!(png("nonsense").unwrap_err().exit_code(), 1);
    }
}
