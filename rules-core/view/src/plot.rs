//! A studied results table as a picture: one bar a column, from the attacker's worst outcome to
//! the attacker's best, with both sides' expected losses; as SVG and as terminal text.
//!
//! Every outcome has a letter, so that neither drawing leans on colour alone. Labels stand only
//! where they have room; what has none is read off the letter's place in the key.

use std::fmt::Write;

use fieldpost_rules::sanitize::{plain, xml};
use fieldpost_rules::verdict::rounding::{hundredths_text, percent, whole};
use fieldpost_study::{Chances, ColumnChances, Meaning};

/// Narrowest terminal that is drawn for.
const LEAST_COLUMNS: usize = 60;
/// Widest bar of a terminal.
const MOST_COLUMNS: usize = 200;

// Layout of the picture in pixels.
const WIDTH: f64 = 920.0;
const MARGIN: f64 = 24.0;
const TOP: f64 = 96.0;
const BAR_LEFT: f64 = 110.0;
const BAR_WIDTH: f64 = 600.0;
const ROW: f64 = 30.0;
const BAR: f64 = 21.0;
const KEY_ROW: f64 = 20.0;
const TYPE: f64 = 12.0;
/// Advance of a broad letter as a share of the type size; digits of wide faces take 0.64.
const ADVANCE: f64 = 0.68;

const PAPER: &str = "#f7f2e4";
const INK: &str = "#2e2a25";
const FAINT: &str = "#8b8271";
/// Worst to mildest for the attacker.
const BROWNS: [&str; 4] = ["#7c4a12", "#b07c36", "#d6b57c", "#ecdcbb"];
/// Mildest to worst for the defender.
const TEALS: [&str; 4] = ["#c6e3dc", "#86c2b7", "#3f958a", "#0e635b"];
const NEUTRAL: &str = "#e0dccf";

/// The table as an SVG picture.
#[must_use]
pub fn plot_svg(chances: &Chances, title: &str) -> String {
    Plot::of(chances, title).finish()
}

/// The table as text no wider than `columns`, which is brought into 60..=200.
#[must_use]
pub fn plot_text(chances: &Chances, columns: usize) -> String {
    let columns = columns.clamp(LEAST_COLUMNS, MOST_COLUMNS);
    let cells = columns - 28;
    let marks = marks(chances.outcomes.len());
    let mut out = format!(
        "{:>8}  {:<cells$}  {:>7} {:>7}\n",
        "", "chances", "bases", "lost"
    );
    let _ = writeln!(
        out,
        "{:>8}  {}  {:>7} {:>7}",
        "column",
        scale_text(cells),
        "attack.",
        "defend."
    );
    for column in &chances.columns {
        let _ = writeln!(
            out,
            "{:>8}  {}  {:>7.2} {:>7.2}",
            cut(&column.head, 8),
            bar_text(chances, column, &marks, cells),
            column.attacker.expected_loss.value(),
            column.defender.expected_loss.value()
        );
    }
    out.push('\n');
    for (meaning, mark) in chances.outcomes.iter().zip(&marks) {
        let line = format!("  {mark} {}  {}", fill(meaning), spoken(meaning));
        let _ = writeln!(out, "{}", cut(&line, columns));
    }
    out.push_str("\n  - harms attackers   . both alike   = harms defenders\n");
    out
}

/// `0`, `50` and `100 %` above the bars.
fn scale_text(cells: usize) -> String {
    let mut scale = vec![' '; cells];
    let mut put = |at: usize, text: &str| {
        for (cell, letter) in scale.iter_mut().skip(at).zip(text.chars()) {
            *cell = letter;
        }
    };
    put(0, "0 %");
    put(cells / 2 - 1, "50 %");
    put(cells - 5, "100 %");
    scale.into_iter().collect()
}

/// Cells in proportion to chances; each segment begins with its letter and, where it has room,
/// its per cent.
fn bar_text(chances: &Chances, column: &ColumnChances, marks: &[String], cells: usize) -> String {
    let shares: Vec<f64> = column.chance.iter().map(|chance| chance.value()).collect();
    let mut bar = String::new();
    for (index, count) in shared_out(&shares, cells).into_iter().enumerate() {
        let label = format!("{} {}%", marks[index], whole(shares[index] * 100.0));
        let label = if label.chars().count() < count {
            label
        } else {
            marks[index].clone()
        };
        let filled = count.saturating_sub(label.chars().count());
        bar.extend(label.chars().take(count));
        bar.extend(std::iter::repeat_n(fill(&chances.outcomes[index]), filled));
    }
    bar
}

/// Whole cells by the largest remainder; whatever has a share has a cell while there are enough.
fn shared_out(shares: &[f64], cells: usize) -> Vec<usize> {
    let whole = f64::from(u32::try_from(cells).unwrap_or(u32::MAX));
    let mut parts: Vec<usize> = shares
        .iter()
        .map(|share| floored(share * whole).max(usize::from(*share > 0.0)))
        .collect();
    // too many: from the largest; too few: to where most is missing
    while parts.iter().sum::<usize>() > cells {
        let Some(largest) = (0..parts.len()).max_by_key(|&index| parts[index]) else {
            break;
        };
        parts[largest] -= 1;
    }
    while parts.iter().sum::<usize>() < cells {
        let lack = |index: usize| shares[index] * whole - float(parts[index]);
        let open = (0..parts.len()).filter(|&index| shares[index] > 0.0);
        let Some(most) = open.max_by(|&a, &b| lack(a).total_cmp(&lack(b))) else {
            break;
        };
        parts[most] += 1;
    }
    parts
}

fn floored(number: f64) -> usize {
    // a share of at most 200 cells
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let whole = number.clamp(0.0, 1e6).floor() as usize;
    whole
}

fn float(count: usize) -> f64 {
    f64::from(u32::try_from(count).unwrap_or(u32::MAX))
}

fn fill(meaning: &Meaning) -> char {
    if meaning.leaning < 0.0 {
        '-'
    } else if meaning.leaning > 0.0 {
        '='
    } else {
        '.'
    }
}

/// A letter for each outcome: a, b, … z, then aa, ab, …
fn marks(count: usize) -> Vec<String> {
    let letter = |index: usize| char::from(b'a' + u8::try_from(index % 26).unwrap_or(0));
    (0..count)
        .map(|index| match index / 26 {
            0 => letter(index).to_string(),
            tens => format!("{}{}", letter(tens - 1), letter(index)),
        })
        .collect()
}

/// Name and meaning, safe for terminals.
fn spoken(meaning: &Meaning) -> String {
    let name = plain(&meaning.name);
    if meaning.words.is_empty() || meaning.words == meaning.name {
        name
    } else {
        format!("{name}: {}", plain(&meaning.words))
    }
}

fn cut(text: &str, room: usize) -> String {
    if text.chars().count() <= room {
        return text.to_owned();
    }
    let kept: String = text.chars().take(room.saturating_sub(1)).collect();
    format!("{}…", kept.trim_end())
}

/// Where a label stands, for the picture and for the test that none overlap.
#[derive(Debug, Clone, PartialEq)]
struct Label {
    left: f64,
    baseline: f64,
    width: f64,
    size: f64,
}

#[derive(Clone, Copy)]
enum Anchor {
    Start,
    Middle,
    End,
}

struct Plot {
    shapes: String,
    labels: Vec<Label>,
    height: f64,
}

impl Plot {
    fn of(chances: &Chances, title: &str) -> Self {
        let bars = ROW * float(chances.columns.len());
        let key_top = TOP + bars + 56.0;
        let height = key_top + KEY_ROW * float(chances.outcomes.len()) + MARGIN;
        let mut plot = Self {
            shapes: String::new(),
            labels: Vec::new(),
            height,
        };
        plot.rect(0.0, 0.0, WIDTH, height, PAPER);
        plot.heading(chances, title);
        plot.grid(bars);
        let marks = marks(chances.outcomes.len());
        let inks = inks(&chances.outcomes);
        for (number, column) in chances.columns.iter().enumerate() {
            plot.row(column, TOP + ROW * float(number), &marks, &inks);
        }
        plot.key(chances, key_top, &marks, &inks);
        plot
    }

    fn finish(self) -> String {
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{WIDTH}\" height=\"{h}\" \
             viewBox=\"0 0 {WIDTH} {h}\" font-family=\"DejaVu Sans, Verdana, sans-serif\">\n{}</svg>\n",
            self.shapes,
            h = hundredths_text(self.height)
        )
    }

    fn heading(&mut self, chances: &Chances, title: &str) {
        let title = cut(&plain(title), 64);
        self.text(MARGIN, 38.0, 18.0, INK, Anchor::Start, &title);
        let about = format!("chances with {}", chances.dice);
        self.text(MARGIN, 58.0, TYPE, FAINT, Anchor::Start, &about);
        let lost = "bases lost on average";
        self.text(WIDTH - MARGIN, TOP - 34.0, TYPE, FAINT, Anchor::End, lost);
        let top = TOP - 14.0;
        self.text(BAR_LEFT - 12.0, top, TYPE, FAINT, Anchor::End, "column");
        self.text(WIDTH - 112.0, top, TYPE, FAINT, Anchor::End, "attackers");
        self.text(WIDTH - MARGIN, top, TYPE, FAINT, Anchor::End, "defenders");
    }

    fn grid(&mut self, bars: f64) {
        for quarter in 0..=4u8 {
            let x = BAR_LEFT + BAR_WIDTH * f64::from(quarter) / 4.0;
            let _ = writeln!(
                self.shapes,
                "<line x1=\"{x}\" y1=\"{}\" x2=\"{x}\" y2=\"{}\" stroke=\"{FAINT}\" stroke-width=\"0.6\"/>",
                hundredths_text(TOP - 6.0),
                hundredths_text(TOP + bars + 4.0),
                x = hundredths_text(x)
            );
            let percent = format!("{} %", u32::from(quarter) * 25);
            self.text(x, TOP + bars + 20.0, 11.0, FAINT, Anchor::Middle, &percent);
        }
    }

    fn row(&mut self, column: &ColumnChances, top: f64, marks: &[String], inks: &[Ink]) {
        let baseline = top + BAR / 2.0 + 4.5;
        let head = cut(&column.head, 9);
        self.text(BAR_LEFT - 12.0, baseline, 13.0, INK, Anchor::End, &head);
        let mut x = BAR_LEFT;
        for (index, chance) in column.chance.iter().enumerate() {
            let width = chance.value() * BAR_WIDTH;
            if chance.is_zero() {
                continue;
            }
            self.rect(x, top, width, BAR, inks[index].ground);
            let told = format!("{} {} %", marks[index], percent(chance.value()));
            let label = [told.as_str(), marks[index].as_str()]
                .into_iter()
                .find(|label| text_width(label, TYPE) + 4.0 <= width);
            if let Some(label) = label {
                let middle = x + width / 2.0;
                self.text(
                    middle,
                    baseline,
                    TYPE,
                    inks[index].letter,
                    Anchor::Middle,
                    label,
                );
            }
            x += width;
        }
        let losses = [&column.attacker, &column.defender].map(|side| side.expected_loss.value());
        self.text(
            WIDTH - 112.0,
            baseline,
            13.0,
            INK,
            Anchor::End,
            &format!("{:.2}", losses[0]),
        );
        self.text(
            WIDTH - MARGIN,
            baseline,
            13.0,
            INK,
            Anchor::End,
            &format!("{:.2}", losses[1]),
        );
    }

    fn key(&mut self, chances: &Chances, top: f64, marks: &[String], inks: &[Ink]) {
        let room = WIDTH - 2.0 * MARGIN - 62.0;
        for (index, meaning) in chances.outcomes.iter().enumerate() {
            let y = top + KEY_ROW * float(index);
            self.rect(MARGIN, y - 10.0, 22.0, 13.0, inks[index].ground);
            self.text(MARGIN + 40.0, y, TYPE, INK, Anchor::Middle, &marks[index]);
            let letters = floored(room / (ADVANCE * TYPE));
            let words = cut(&spoken(meaning), letters);
            self.text(MARGIN + 62.0, y, TYPE, INK, Anchor::Start, &words);
        }
    }

    fn rect(&mut self, x: f64, y: f64, width: f64, height: f64, fill: &str) {
        let _ = writeln!(
            self.shapes,
            "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" fill=\"{fill}\" stroke=\"{PAPER}\" stroke-width=\"1\"/>",
            hundredths_text(x),
            hundredths_text(y),
            hundredths_text(width),
            hundredths_text(height)
        );
    }

    fn text(&mut self, x: f64, baseline: f64, size: f64, ink: &str, anchor: Anchor, text: &str) {
        let width = text_width(text, size);
        let (named, left) = match anchor {
            Anchor::Start => ("start", x),
            Anchor::Middle => ("middle", x - width / 2.0),
            Anchor::End => ("end", x - width),
        };
        self.labels.push(Label {
            left,
            baseline,
            width,
            size,
        });
        let _ = writeln!(
            self.shapes,
            "<text x=\"{}\" y=\"{}\" font-size=\"{}\" fill=\"{ink}\" text-anchor=\"{named}\">{}</text>",
            hundredths_text(x),
            hundredths_text(baseline),
            hundredths_text(size),
            xml(text)
        );
    }
}

/// A colour and the ink that can be read on it.
struct Ink {
    ground: &'static str,
    letter: &'static str,
}

/// Browns for what harms the attackers more, teals for the defenders, grey for neither more; the
/// worse, the darker.
fn inks(outcomes: &[Meaning]) -> Vec<Ink> {
    let worse = outcomes.iter().filter(|o| o.leaning < 0.0).count();
    let better = outcomes.iter().filter(|o| o.leaning > 0.0).count();
    let neutral = outcomes.len() - worse - better;
    outcomes
        .iter()
        .enumerate()
        .map(|(index, meaning)| {
            let (ground, dark) = if meaning.leaning < 0.0 {
                let shade = shade(index, worse);
                (BROWNS[shade], shade < 1)
            } else if meaning.leaning > 0.0 {
                let shade = 3 - shade(better - 1 - (index - worse - neutral), better);
                (TEALS[shade], shade > 1)
            } else {
                (NEUTRAL, false)
            };
            let letter = if dark { "#ffffff" } else { INK };
            Ink { ground, letter }
        })
        .collect()
}

/// Which of four shades the `place`-th worst of `count` has.
fn shade(place: usize, count: usize) -> usize {
    if count <= 4 { place } else { place * 4 / count }
}

fn text_width(text: &str, size: f64) -> f64 {
    float(text.chars().count()) * ADVANCE * size
}

#[cfg(test)]
mod tests;
