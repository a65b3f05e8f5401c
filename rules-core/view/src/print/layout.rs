//! Which sheet shows what.

use super::{Orientation, PrintFault, PrintOptions, SHEETS_MAX};
use crate::svg::Part;
use fieldpost_rules::geometry::smaller;
use fieldpost_rules::scenario::TableSize;

/// How the sheets lie over the table. Columns are lettered from the west, rows numbered from the
/// north; the first column begins at the western edge of what is printed and the last row ends at its
/// southern edge, so that both edges measured from are whole.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Layout {
    /// What is printed.
    pub part: Part,
    /// The paper's name.
    pub paper: &'static str,
    /// The paper as it lies, in millimetres: its width and its height.
    pub page_mm: (f64, f64),
    /// Blank margin, in millimetres.
    pub margin_mm: f64,
    /// What neighbouring sheets share, in millimetres.
    pub overlap_mm: f64,
    /// Sheets from west to east.
    pub columns: u32,
    /// Sheets from north to south.
    pub rows: u32,
}

/// One sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// From the west, from 0.
    pub column: u32,
    /// From the north, from 0.
    pub row: u32,
    /// Its label, such as `B-2`.
    pub name: String,
    /// The ground that its printed area covers, in millimetres of table; it may reach beyond the table.
    pub window: Part,
}

impl Layout {
    /// The layout with fewest sheets that the options allow.
    ///
    /// # Errors
    /// When margin or overlap will not do, or there would be too many sheets.
    pub fn of(table: &TableSize, options: &PrintOptions) -> Result<Self, PrintFault> {
        let part = options
            .part
            .map_or(Part::whole(table), |part| part.kept_on(table));
        let portrait = (options.paper.width_mm, options.paper.height_mm);
        let landscape = (portrait.1, portrait.0);
        let chosen = match options.orientation {
            Orientation::Portrait => Self::on(part, portrait, options)?,
            Orientation::Landscape => Self::on(part, landscape, options)?,
            Orientation::Fewest => {
                let (first, second) = (
                    Self::on(part, portrait, options)?,
                    Self::on(part, landscape, options)?,
                );
                if second.count() < first.count() {
                    second
                } else {
                    first
                }
            }
        };
        if chosen.count() > SHEETS_MAX {
            return Err(PrintFault::Sheets {
                sheets: chosen.count(),
            });
        }
        Ok(chosen)
    }

    fn on(part: Part, page_mm: (f64, f64), options: &PrintOptions) -> Result<Self, PrintFault> {
        let (margin_mm, overlap_mm) = (options.margin_mm, options.overlap_mm);
        let shorter = smaller(page_mm.0, page_mm.1);
        if !(8.0..=shorter / 4.0).contains(&margin_mm) {
            return Err(PrintFault::Margin { margin_mm });
        }
        let most_mm = (shorter - 2.0 * margin_mm) / 3.0;
        if !(0.0..=most_mm).contains(&overlap_mm) {
            return Err(PrintFault::Overlap {
                overlap_mm,
                most_mm,
            });
        }
        let count = |length: f64, page: f64| {
            let window = page - 2.0 * margin_mm;
            let sheets = ((length - overlap_mm) / (window - overlap_mm) - 1e-9).ceil();
            // tables are at most 20 m long and a sheet advances by 30 mm or more
            #[expect(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "between 1 and a thousand"
            )]
            let sheets = if (1.0..1e4).contains(&sheets) {
                sheets as u32
            } else {
                1
            };
            sheets
        };
        Ok(Self {
            columns: count(part.width_mm(), page_mm.0),
            rows: count(part.depth_mm(), page_mm.1),
            paper: options.paper.name,
            part,
            page_mm,
            margin_mm,
            overlap_mm,
        })
    }

    /// How many sheets there are, the assembly page aside.
    #[must_use]
    pub fn count(&self) -> u64 {
        u64::from(self.columns) * u64::from(self.rows)
    }

    /// Size of what a sheet shows, in millimetres.
    #[must_use]
    pub fn window_mm(&self) -> (f64, f64) {
        (
            self.page_mm.0 - 2.0 * self.margin_mm,
            self.page_mm.1 - 2.0 * self.margin_mm,
        )
    }

    /// A sheet by column and row, both from 0.
    #[must_use]
    pub fn sheet(&self, column: u32, row: u32) -> Sheet {
        let (wide, high) = self.window_mm();
        let west_mm = self.part.west_mm + f64::from(column) * (wide - self.overlap_mm);
        let from_south = self.rows.saturating_sub(row + 1);
        let south_mm = self.part.south_mm + f64::from(from_south) * (high - self.overlap_mm);
        Sheet {
            column,
            row,
            name: name(column, row),
            window: Part {
                west_mm,
                south_mm,
                east_mm: west_mm + wide,
                north_mm: south_mm + high,
            },
        }
    }

    /// Every sheet, row by row from the north-west.
    pub fn sheets(&self) -> impl Iterator<Item = Sheet> + '_ {
        (0..self.rows)
            .flat_map(move |row| (0..self.columns).map(move |column| self.sheet(column, row)))
    }
}

/// `A-1`, `B-1`, … `Z-1`, `AA-1`; the hyphen tells a sheet from a size of paper.
pub(super) fn name(column: u32, row: u32) -> String {
    format!("{}-{}", letters(column), row + 1)
}

/// The letters of a column.
pub(super) fn letters(column: u32) -> String {
    let mut letters = Vec::new();
    let mut left = column + 1;
    while left > 0 {
        let place = (left - 1) % 26;
        letters.push(char::from(b'A' + u8::try_from(place).unwrap_or(0)));
        left = (left - 1) / 26;
    }
    letters.into_iter().rev().collect()
}
