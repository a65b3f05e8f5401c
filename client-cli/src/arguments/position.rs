//! Which game a command looks at, at which moment, and which part of the table.

use std::path::PathBuf;

use clap::Args;
use fieldpost_view::svg::Part;

/// Another game than the seat's: any record.
#[derive(Debug, Clone, Default, Args)]
pub struct RecordSource {
    /// Of this record instead of the seat's game: one that "record" saved, or a battle that "local" keeps.
    #[arg(long, value_name = "FILE")]
    pub record: Option<PathBuf>,
}

/// Another game than the seat's: any record, or a battle at its opening.
#[derive(Debug, Clone, Default, Args)]
pub struct Source {
    /// Another record.
    #[command(flatten)]
    pub of: RecordSource,
    /// Of the opening table of a battle: one that comes with this program, or a ruleset and a scenario.
    #[arg(long, value_names = ["BATTLE", "SCENARIO"], num_args = 1..=2, conflicts_with = "record")]
    pub battle: Vec<PathBuf>,
}

/// A moment of a game.
#[derive(Debug, Clone, Copy, Default, Args)]
pub struct Moment {
    /// As it stood after this event [else the last].
    #[arg(long, value_name = "EVENT")]
    pub at: Option<u64>,
}

/// A part of the table.
#[derive(Debug, Clone, Default, Args)]
pub struct TablePart {
    /// Only this part: centimetres of its west, south, east and north side, from the table's west and south edges.
    #[arg(long, value_name = "W,S,E,N", value_parser = part_cm, conflicts_with = "around")]
    pub part: Option<Part>,
    /// Only the part round this unit, or round a place that the map names.
    #[arg(long, value_name = "NAME")]
    pub around: Option<String>,
    /// How much round it, in centimetres.
    #[arg(long, value_name = "CM", default_value_t = 20.0, requires = "around", value_parser = centimetres)]
    pub within: f64,
}

/// Four numbers of centimetres.
fn part_cm(text: &str) -> Result<Part, String> {
    let numbers: Vec<f64> = text
        .split(',')
        .map(|number| number.trim().parse().ok().filter(|n: &f64| n.is_finite()))
        .collect::<Option<_>>()
        .ok_or("write four numbers of centimetres, such as 40,20,90,60")?;
    let [west, south, east, north] = numbers[..] else {
        return Err("write four numbers of centimetres, such as 40,20,90,60".to_owned());
    };
    if east - west < 2.0 || north - south < 2.0 {
        return Err(
            "west and south come first, then east and north, at least 2 cm further".to_owned(),
        );
    }
    Ok(Part {
        west_mm: west * 10.0,
        south_mm: south * 10.0,
        east_mm: east * 10.0,
        north_mm: north * 10.0,
    })
}

fn centimetres(text: &str) -> Result<f64, String> {
    let number = text.trim().parse().ok();
    number
        .filter(|number| (1.0..=1_000.0).contains(number))
        .ok_or_else(|| "write a number of centimetres from 1 to 1000".to_owned())
}
