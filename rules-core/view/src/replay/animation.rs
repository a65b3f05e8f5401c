//! The whole game as one picture that moves by itself (SVG 1.1 animation, no script).

use super::Moment;
use super::page::{options, shown};
use crate::svg::Stage;
use fieldpost_rules::verdict::rounding::hundredths_text;

/// How long a moment stays, in seconds: long enough to find what changed.
const SECONDS: f64 = 3.0;
/// How long the last one does, before it all begins again.
const LAST_SECONDS: f64 = 6.0;

/// The game as an animated picture. Where nothing is animated it shows the last moment.
#[must_use]
pub fn animation(moments: &[Moment]) -> String {
    let Some(first) = moments.first() else {
        return String::new();
    };
    let options = options();
    let stage = Stage::new(&first.after, &options);
    let mut out = stage.opened(true);
    let count = f64::from(u32::try_from(moments.len()).unwrap_or(u32::MAX));
    let whole = (count - 1.0) * SECONDS + LAST_SECONDS;
    for (index, moment) in moments.iter().enumerate() {
        let start = f64::from(u32::try_from(index).unwrap_or(u32::MAX)) * SECONDS;
        let is_last = index + 1 == moments.len();
        let end = if is_last { whole } else { start + SECONDS };
        out.push_str(&format!(
            "<g display=\"{}\">\n",
            if is_last { "inline" } else { "none" }
        ));
        out.push_str(&turned_on(start, end, whole));
        out.push_str(&shown(&stage, moment));
        out.push_str(&stage.caption(&moment.title, &moment.words));
        out.push_str("</g>\n");
    }
    out.push_str("</svg>\n");
    out
}

/// Shows a group between two times of a cycle, in seconds.
fn turned_on(start: f64, end: f64, whole: f64) -> String {
    // six decimals of the cycle: a game of a thousand moments still switches within a hundredth of a second
    let share = |time: f64| format!("{:.6}", time / whole);
    let (values, times) = match (start > 0.0, end < whole) {
        (false, true) => ("inline;none", format!("0;{}", share(end))),
        (true, false) => ("none;inline", format!("0;{}", share(start))),
        (true, true) => (
            "none;inline;none",
            format!("0;{};{}", share(start), share(end)),
        ),
        (false, false) => return String::new(),
    };
    format!(
        "<animate attributeName=\"display\" values=\"{values}\" keyTimes=\"{times}\" calcMode=\"discrete\" \
         dur=\"{}s\" repeatCount=\"indefinite\"/>\n",
        hundredths_text(whole)
    )
}
