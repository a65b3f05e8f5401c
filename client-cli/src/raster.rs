//! SVG as the rules draw it, made pixels with fonts of our own.

use std::collections::BTreeSet;
use std::sync::{Arc, LazyLock};

use resvg::tiny_skia::{Pixmap, Transform};
use resvg::usvg::{Group, Node, Options, Tree, fontdb};

use crate::error::{CliError, CliResult};

/// The family of the embedded font, whatever family a picture asks for.
const FAMILY: &str = "DejaVu Sans";

/// The embedded fonts, read once.
static FONTS: LazyLock<Arc<fontdb::Database>> = LazyLock::new(|| {
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
    Arc::new(fonts)
});

/// A painted picture.
#[derive(Debug)]
pub struct Raster {
    /// Its pixels.
    pub pixels: Pixmap,
    /// Letters that none of the embedded fonts has, each once: an empty box stands in their place.
    pub missing: Vec<String>,
}

impl Raster {
    /// The pixels as a PNG file: the same bytes everywhere, for the fonts are embedded and no other is looked for.
    ///
    /// # Errors
    /// When they cannot be encoded.
    pub fn png(&self) -> CliResult<Vec<u8>> {
        self.pixels.encode_png().map_err(|error| failed(&error))
    }
}

fn failed(why: &dyn std::fmt::Display) -> CliError {
    CliError::Other(format!("cannot paint the picture: {why}"))
}

/// Paints an SVG picture in its own size, or so many pixels wide.
///
/// # Errors
/// When it is no picture, or too large to be painted.
pub fn rasterize(svg: &str, width: Option<u32>) -> CliResult<Raster> {
    let tree = parse_svg(svg)?;
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

/// An SVG picture as a tree, its letters set in the embedded fonts.
///
/// # Errors
/// When it is no picture.
pub fn parse_svg(svg: &str) -> CliResult<Tree> {
    let options = Options {
        font_family: FAMILY.to_owned(),
        fontdb: Arc::clone(&FONTS),
        ..Options::default()
    };
    Tree::from_str(svg, &options).map_err(|error| failed(&error))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn with(text: &str) -> String {
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"60\" height=\"20\"><title>騎</title><text x=\"2\" y=\"15\" \
             font-family=\"No Such Face, serif\">{text}</text></svg>"
        )
    }

    fn png(svg: &str) -> Vec<u8> {
        rasterize(svg, None).unwrap().png().unwrap()
    }

    #[test]
    fn letters_are_painted() {
        let (blank, red) = (png(&with("")), png(&with("Red")));
        assert!(red.starts_with(b"\x89PNG"));
        assert_ne!(blank, red);
    }

    #[test]
    fn what_is_no_picture_is_a_failure() {
        assert_eq!(rasterize("nonsense", None).unwrap_err().exit_code(), 1);
    }

    #[test]
    fn letters_that_no_font_has_are_found_where_they_are_drawn() {
        let missing = |text: &str| rasterize(&with(text), None).unwrap().missing;
        assert!(missing("Éclaireurs → ½ ⚑").is_empty());
        assert_eq!(missing("騎兵 Foot 騎 🐎"), ["兵", "騎", "🐎"]);
    }
}
