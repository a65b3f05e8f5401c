//! Our SVG pictures as pixels: the same bytes everywhere, for the fonts are embedded and no others are looked for.

use std::collections::BTreeSet;
use std::sync::{Arc, LazyLock};

use resvg::tiny_skia::{Pixmap, Transform};
use resvg::usvg::{Group, Node, Options, Tree, fontdb};
use thiserror::Error;

/// The family of the embedded font, whatever family a picture asks for.
const FAMILY: &str = "DejaVu Sans";

/// Why a picture cannot be painted.
#[derive(Debug, Error)]
pub enum PaintError {
    /// It is no SVG, or none that is understood.
    #[error("it is no picture: {0}")]
    NoPicture(#[from] resvg::usvg::Error),
    /// It has more pixels than may be, or none: its width and height.
    #[error("{0} × {1} pixels cannot be painted")]
    Size(u32, u32),
    /// It cannot be written as PNG.
    #[error("it cannot be written as PNG: {0}")]
    Unwritten(String),
}

/// How large a picture is painted.
#[derive(Debug, Clone, Copy, Default)]
pub struct Size {
    /// Its width in pixels; absent: its own.
    pub width: Option<u32>,
    /// The most pixels that it may have; absent: as many as there is memory for.
    pub pixels_max: Option<u64>,
}

/// A painted picture.
#[derive(Debug)]
pub struct Raster {
    /// Its pixels.
    pub pixels: Pixmap,
    /// Letters that none of the embedded fonts has, each once: an empty box stands in their place.
    pub missing: Vec<String>,
}

impl Raster {
    /// The pixels as a PNG file.
    ///
    /// # Errors
    /// When they cannot be written so.
    pub fn png(&self) -> Result<Vec<u8>, PaintError> {
        let encoded = self.pixels.encode_png();
        encoded.map_err(|error| PaintError::Unwritten(error.to_string()))
    }
}

/// Paints an SVG picture.
///
/// # Errors
/// When it is no picture, or too large to be painted.
pub fn rasterize(svg: &str, size: Size) -> Result<Raster, PaintError> {
    let tree = parse_svg(svg)?;
    let own = tree.size();
    let scale = size
        .width
        .map_or(1.0, |width| f64::from(width) / f64::from(own.width()));
    // A picture is a few thousand pixels wide.
    #[expect(clippy::cast_possible_truncation, reason = "single precision is meant")]
    let scale = scale as f32;
    let own = own.to_int_size();
    let bad_size = |(width, height)| PaintError::Size(width, height);
    let own = (own.width(), own.height());
    let scaled = tree.size().scale_by(scale).ok_or_else(|| bad_size(own))?;
    let scaled = scaled.to_int_size();
    let (width, height) = (scaled.width(), scaled.height());
    let pixels = u64::from(width) * u64::from(height);
    if size.pixels_max.is_some_and(|most| pixels > most) {
        return Err(bad_size((width, height)));
    }
    let mut pixels = Pixmap::new(width, height).ok_or_else(|| bad_size((width, height)))?;
    resvg::render(
        &tree,
        Transform::from_scale(scale, scale),
        &mut pixels.as_mut(),
    );
    let mut missing = BTreeSet::new();
    collect_missing(tree.root(), &mut missing);
    Ok(Raster {
        pixels,
        missing: missing.into_iter().collect(),
    })
}

/// The letters of a picture that no font has: their glyph is the first, which stands for none.
fn collect_missing(group: &Group, missing: &mut BTreeSet<String>) {
    for node in group.children() {
        match node {
            Node::Group(inner) => collect_missing(inner, missing),
            Node::Text(text) => {
                let glyphs = text
                    .layouted()
                    .iter()
                    .flat_map(|span| &span.positioned_glyphs);
                let absent = glyphs.filter(|glyph| glyph.id.0 == 0);
                missing.extend(absent.map(|glyph| glyph.text.clone()));
            }
            Node::Path(_) | Node::Image(_) => {}
        }
    }
}

/// A picture as a tree, its letters set in the embedded fonts.
///
/// # Errors
/// When it is no picture.
pub fn parse_svg(svg: &str) -> Result<Tree, PaintError> {
    static FONTS: LazyLock<Arc<fontdb::Database>> = LazyLock::new(|| Arc::new(fonts()));
    let options = Options {
        font_family: FAMILY.to_owned(),
        fontdb: Arc::clone(&FONTS),
        ..Options::default()
    };
    Ok(Tree::from_str(svg, &options)?)
}

fn fonts() -> fontdb::Database {
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
    fonts
}

#[cfg(test)]
mod tests {
    use super::*;

    fn picture(text: &str) -> String {
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"60\" height=\"20\"><title>騎</title><text x=\"2\" y=\"15\" \
             font-family=\"No Such Face, serif\">{text}</text></svg>"
        )
    }

    fn painted(text: &str) -> Raster {
        rasterize(&picture(text), Size::default()).unwrap()
    }

    #[test]
    fn letters_are_painted() {
        let (blank, red) = (painted("").png().unwrap(), painted("Red").png().unwrap());
        assert!(red.starts_with(b"\x89PNG"));
        assert_ne!(blank, red);
    }

    #[test]
    fn letters_that_no_font_has_are_found_where_they_are_drawn() {
        assert!(painted("Éclaireurs → ½ ⚑").missing.is_empty());
        assert_eq!(painted("騎兵 Foot 騎 🐎").missing, ["兵", "騎", "🐎"]);
    }

    #[test]
    fn what_is_no_picture_is_an_error() {
        let error = rasterize("nonsense", Size::default()).unwrap_err();
        assert!(matches!(error, PaintError::NoPicture(_)));
    }

    #[test]
    fn more_pixels_than_may_be_are_refused_before_they_are_painted() {
        let size = |width, pixels_max| Size {
            width: Some(width),
            pixels_max: Some(pixels_max),
        };
        let painted = |size| rasterize(&picture("Red"), size);
        assert_eq!(painted(size(120, 4800)).unwrap().pixels.width(), 120);
        let error = painted(size(120, 4799)).unwrap_err();
        assert_eq!(error.to_string(), "120 × 40 pixels cannot be painted");
    }
}
