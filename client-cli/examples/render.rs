//! Turns an SVG file into a PNG file with the given font files, to look at pictures while
//! working on them: `cargo run -p fieldpost-client --example render -- IN.svg OUT.png FONT.ttf…`.

use std::error::Error;
use std::sync::Arc;

use resvg::tiny_skia::{Pixmap, Transform};
use resvg::usvg::{Options, Tree, fontdb::Database};

fn main() -> Result<(), Box<dyn Error>> {
    let mut words = std::env::args().skip(1);
    let (Some(from), Some(to)) = (words.next(), words.next()) else {
        return Err("say which SVG file to read and which PNG file to write".into());
    };
    let mut fonts = Database::new();
    for font in words {
        fonts.load_font_data(std::fs::read(font)?);
    }
    let options = Options {
        fontdb: Arc::new(fonts),
        ..Options::default()
    };
    let tree = Tree::from_str(&std::fs::read_to_string(from)?, &options)?;
    let size = tree.size().to_int_size();
    let mut pixels = Pixmap::new(size.width(), size.height()).ok_or("the picture has no size")?;
    resvg::render(&tree, Transform::identity(), &mut pixels.as_mut());
    pixels.save_png(to)?;
    Ok(())
}
