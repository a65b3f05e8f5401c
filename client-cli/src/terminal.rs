//! Pictures in a terminal: by an open graphics protocol where one is asked for or announced, else two
//! coloured pixels to a character.

use std::env;
use std::fmt::Write as _;
use std::io::IsTerminal as _;

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use resvg::tiny_skia::Pixmap;

use crate::arguments::ShowMethod;
use crate::error::{CliError, CliResult};
use crate::output::text_columns;
use fieldpost_png::{Size, rasterize};

/// The kitty graphics protocol takes a picture in pieces of at most so many letters.
const PIECE: usize = 4096;

/// What makes a terminal show a picture.
///
/// # Errors
/// [`CliError::Usage`] when no way was named and this is no terminal, or one without colours.
pub fn escape_sequence(svg: &str, method: ShowMethod) -> CliResult<String> {
    let method = match method {
        ShowMethod::Auto => announced()?,
        named => named,
    };
    match method {
        ShowMethod::Kitty => Ok(by_kitty(&rasterize(svg, Size::default())?.png()?)),
        ShowMethod::Inline => Ok(inline(&rasterize(svg, Size::default())?.png()?)),
        ShowMethod::Blocks | ShowMethod::Auto => {
            let across = u32::try_from(text_columns(None)).unwrap_or(80);
            let size = Size {
                width: Some(across),
                ..Size::default()
            };
            Ok(blocks(&rasterize(svg, size)?.pixels))
        }
    }
}

/// The way that this terminal says it can.
fn announced() -> CliResult<ShowMethod> {
    let is_set = |name: &str| env::var_os(name).is_some_and(|value| !value.is_empty());
    if !std::io::stdout().is_terminal() {
        return Err(CliError::Usage(
            "this is no terminal; draw to a file with --png, or name a way: --show=blocks"
                .to_owned(),
        ));
    }
    let term = env::var("TERM").unwrap_or_default();
    if is_set("KITTY_WINDOW_ID") || term.contains("kitty") {
        return Ok(ShowMethod::Kitty);
    }
    if is_set("NO_COLOR") || term == "dumb" {
        return Err(CliError::Usage(
            "this terminal shows no colours; draw to a file with --png, or look at the text: fieldpost table"
                .to_owned(),
        ));
    }
    Ok(ShowMethod::Blocks)
}

/// The kitty graphics protocol: a PNG sent and shown at once, in pieces.
fn by_kitty(png: &[u8]) -> String {
    let text = STANDARD.encode(png);
    let mut output = String::new();
    let mut rest = text.as_str();
    let mut is_first = true;
    while !rest.is_empty() || is_first {
        let (piece, after) = rest.split_at(rest.len().min(PIECE));
        let more = u8::from(!after.is_empty());
        let what = if is_first { "a=T,f=100,q=2," } else { "" };
        let _ = write!(output, "\u{1b}_G{what}m={more};{piece}\u{1b}\\");
        (rest, is_first) = (after, false);
    }
    output.push('\n');
    output
}

/// The inline image sequence: a whole file within one operating system command.
fn inline(png: &[u8]) -> String {
    format!(
        "\u{1b}]1337;File=inline=1;size={};width=100%;preserveAspectRatio=1:{}\u{7}\n",
        png.len(),
        STANDARD.encode(png)
    )
}

/// Upper half blocks: the letter's ink is the upper pixel, its ground the lower.
fn blocks(pixels: &Pixmap) -> String {
    let mut output = String::new();
    let (width, height) = (pixels.width(), pixels.height());
    for row in (0..height).step_by(2) {
        let mut before = None;
        for column in 0..width {
            let colour = |row: u32| {
                let pixel = pixels.pixel(column, row.min(height - 1));
                pixel.map_or((0, 0, 0), |pixel| {
                    let pixel = pixel.demultiply();
                    (pixel.red(), pixel.green(), pixel.blue())
                })
            };
            let pair = (colour(row), colour(row + 1));
            if before != Some(pair) {
                let ((r, g, b), (lr, lg, lb)) = pair;
                let _ = write!(output, "\u{1b}[38;2;{r};{g};{b};48;2;{lr};{lg};{lb}m");
                before = Some(pair);
            }
            output.push('▀');
        }
        output.push_str("\u{1b}[0m\n");
    }
    output
}

#[cfg(test)]
mod tests {
    use super::*;

    const PICTURE: &str = "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"40\" height=\"20\">\
        <rect width=\"40\" height=\"10\" fill=\"#ff0000\"/><rect y=\"10\" width=\"40\" height=\"10\" fill=\"#0000ff\"/></svg>";

    #[test]
    fn blocks_are_as_wide_as_asked_and_half_as_high() {
        let size = Size {
            width: Some(60),
            ..Size::default()
        };
        let text = blocks(&rasterize(PICTURE, size).unwrap().pixels);
        let lines: Vec<&str> = text.lines().collect();
        assert_eq!(lines.len(), 15);
        for line in &lines {
            assert_eq!(line.matches('▀').count(), 60);
            assert!(line.ends_with("\u{1b}[0m"));
        }
        assert!(lines[0].starts_with("\u{1b}[38;2;255;0;0;48;2;255;0;0m"));
        assert!(lines[14].starts_with("\u{1b}[38;2;0;0;255;48;2;0;0;255m"));
    }

    #[test]
    fn a_picture_in_pieces_is_the_picture() {
        let file: Vec<u8> = (0..20_000_u32).map(|n| n.to_le_bytes()[0]).collect();
        let text = by_kitty(&file);
        let mut whole = String::new();
        let pieces: Vec<&str> = text.split("\u{1b}_G").skip(1).collect();
        for (index, piece) in pieces.iter().enumerate() {
            let (keys, rest) = piece.split_once(';').unwrap();
            let data = rest.split('\u{1b}').next().unwrap();
            assert!(data.len() <= PIECE);
            let more = if index + 1 == pieces.len() {
                "m=0"
            } else {
                "m=1"
            };
            assert!(keys.ends_with(more), "{keys}");
            assert_eq!(keys.contains("a=T"), index == 0);
            whole.push_str(data);
        }
        assert_eq!(STANDARD.decode(whole).unwrap(), file);
    }

    #[test]
    fn an_inline_picture_tells_its_size() {
        let text = inline(&[7; 300]);
        assert!(text.contains("size=300;"));
        let data = text
            .split(':')
            .nth(1)
            .unwrap()
            .trim_end_matches(['\n', '\u{7}']);
        assert_eq!(STANDARD.decode(data).unwrap(), [7; 300]);
    }
}
