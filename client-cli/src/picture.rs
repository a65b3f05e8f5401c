//! Pictures of a command: to SVG and PNG files, and into the terminal.

use fieldpost_png::{Raster, Size, rasterize};
use serde::Serialize;
use serde_json::json;

use crate::arguments::Pictures;
use crate::error::{CliError, CliResult};
use crate::output::Output;
use crate::terminal;

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
        output: Output,
    ) -> CliResult {
        if !self.any() {
            return output.result(data, words);
        }
        self.draw(&svg(), output)?;
        if !output.json {
            return Ok(());
        }
        let mut data = serde_json::to_value(data)
            .map_err(|error| CliError::Other(format!("cannot be put as JSON: {error}")))?;
        data["drawn"] = json!({ "svg": self.svg, "png": self.png });
        output.print_json(&data)
    }

    /// Draws to the files asked for.
    ///
    /// # Errors
    /// When one cannot be written.
    pub fn draw(&self, svg: &str, output: Output) -> CliResult {
        if let Some(path) = &self.svg {
            output.write_file(path, svg.as_bytes(), "drawn")?;
        }
        if let Some(path) = &self.png {
            let raster = rasterize(svg, Size::default())?;
            output.write_file(path, &raster.png()?, "drawn")?;
            warn_of_missing(&raster, output);
        }
        if let Some(method) = self.show {
            output.print_bytes(terminal::escape_sequence(svg, method)?.as_bytes())?;
        }
        Ok(())
    }
}

/// Says which letters of a picture could not be drawn, and what can draw them.
fn warn_of_missing(raster: &Raster, output: Output) {
    const MOST: usize = 12;
    if raster.missing.is_empty() {
        return;
    }
    let some: Vec<&str> = raster
        .missing
        .iter()
        .take(MOST)
        .map(String::as_str)
        .collect();
    let more = if raster.missing.len() > MOST {
        " …"
    } else {
        ""
    };
    output.warn(&format!(
        "the PNG has empty boxes where its fonts have no letter: {}{more}. An SVG picture (--svg) keeps them, for whatever \
         shows it to draw with its own fonts",
        some.join(" ")
    ));
}
