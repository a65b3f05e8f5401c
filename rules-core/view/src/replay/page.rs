//! One file that plays the game: pictures, news and a few lines of script, all inside it.

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use sha2::{Digest, Sha256};

use super::Moment;
use crate::svg::{Fight, Stage, SvgOptions};
use crate::words::turn_line;
use fieldpost_rules::sanitize::xml;

const STYLE: &str = include_str!("page.css");
const SCRIPT: &str = include_str!("page.js");

/// The game as an HTML page. It fetches nothing and sends nothing: its policy allows only its own
/// style and script, named by their hashes. Without scripts it shows the last moment and all the news.
#[must_use]
pub fn page(moments: &[Moment]) -> String {
    let (Some(first), Some(last)) = (moments.first(), moments.last()) else {
        return String::new();
    };
    let name = xml(&first.after.scenario().name);
    let mut out = format!(
        "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'sha256-{}'; \
         script-src 'sha256-{}'; base-uri 'none'; form-action 'none'\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <meta name=\"referrer\" content=\"no-referrer\">\n<title>{name}</title>\n<style>{STYLE}</style>\n</head>\n<body>\n",
        hash(STYLE),
        hash(SCRIPT)
    );
    out.push_str(&format!(
        "<header>\n<h1>{name}</h1>\n<p>{}</p>\n</header>\n<main>\n<figure>\n",
        xml(&turn_line(&last.after))
    ));
    pictures(&mut out, moments);
    out.push_str("</figure>\n<aside>\n");
    controls(&mut out, moments.len() - 1);
    out.push_str("<div id=\"news\" aria-live=\"polite\">\n");
    for (index, moment) in moments.iter().enumerate() {
        news(&mut out, index, moment);
    }
    out.push_str("</div>\n</aside>\n</main>\n");
    out.push_str(&format!("<script>{SCRIPT}</script>\n</body>\n</html>\n"));
    out
}

/// Buttons and the slider; without scripts they stay hidden.
fn controls(out: &mut String, last: usize) {
    let button = |id: &str, label: &str, sign: &str| {
        format!("<button type=\"button\" id=\"{id}\" aria-label=\"{label}\">{sign}</button>\n")
    };
    out.push_str("<div id=\"controls\" hidden>\n<div class=\"row\">\n");
    out.push_str(&button("back", "Back one moment", "&#9664;&#xfe0e;"));
    out.push_str("<button type=\"button\" id=\"play\">Play</button>\n");
    out.push_str(&button("on", "On one moment", "&#9654;&#xfe0e;"));
    out.push_str("<label>Speed <select id=\"speed\">\n");
    for (value, name) in [
        ("0.5", "half"),
        ("1", "normal"),
        ("2", "double"),
        ("4", "fast"),
        ("10", "very fast"),
    ] {
        let chosen = if value == "1" { " selected" } else { "" };
        out.push_str(&format!(
            "<option value=\"{value}\"{chosen}>{name}</option>\n"
        ));
    }
    out.push_str("</select></label>\n<span class=\"zoom\">\n");
    out.push_str(&button("nearer", "Zoom in", "+"));
    out.push_str(&button("farther", "Zoom out", "&#8722;"));
    out.push_str(&button("all", "Show the whole map", "all"));
    out.push_str(&format!(
        "</span>\n</div>\n<label class=\"line\"><span>Moment</span> <input type=\"range\" id=\"at\" min=\"0\" max=\"{last}\" \
         value=\"0\"> <output id=\"count\"></output></label>\n\
         <p class=\"hint\">Arrow keys step, the space bar plays and stops, + and &#8722; zoom, 0 shows all. Drag the map to move it.</p>\n</div>\n"
    ));
}

fn hash(text: &str) -> String {
    STANDARD.encode(Sha256::digest(text.as_bytes()))
}

fn pictures(out: &mut String, moments: &[Moment]) {
    let options = options();
    let Some(stage) = moments
        .first()
        .map(|first| Stage::new(&first.after, &options))
    else {
        return;
    };
    out.push_str(&stage.opened(false));
    for (index, moment) in moments.iter().enumerate() {
        let display = if index + 1 == moments.len() {
            "inline"
        } else {
            "none"
        };
        out.push_str(&format!(
            "<g class=\"moment\" id=\"m{index}\" display=\"{display}\">\n"
        ));
        out.push_str(&shown(&stage, moment));
        out.push_str("</g>\n");
    }
    out.push_str("</svg>\n");
}

/// What of the map changes, at a moment.
pub(super) fn shown(stage: &Stage<'_>, moment: &Moment) -> String {
    let fights: Vec<Fight> = moment
        .fights
        .iter()
        .map(|(fight, _)| fight.clone())
        .collect();
    stage.moment(&moment.after, moment.ghosts.clone(), &fights)
}

/// How the map is drawn for watching.
pub(super) fn options() -> SvgOptions {
    SvgOptions {
        key: false,
        id_prefix: "replay".to_owned(),
        ..SvgOptions::default()
    }
}

fn news(out: &mut String, index: usize, moment: &Moment) {
    out.push_str(&format!(
        "<section id=\"n{index}\">\n<h2>{}</h2>\n",
        xml(&moment.title)
    ));
    for (number, told) in moment.words.iter().enumerate() {
        let mut lines = told.lines();
        let first = xml(lines.next().unwrap_or(""));
        let mut fights = moment.fights.iter();
        match fights.find(|(_, paragraph)| *paragraph == number) {
            // the number that its link on the map bears
            Some((fight, _)) => out.push_str(&format!(
                "<p class=\"told\" data-fight=\"{0}\"><b class=\"disc\">{0}</b> {first}</p>\n",
                fight.number
            )),
            None => out.push_str(&format!("<p>{first}</p>\n")),
        }
        let rest: Vec<String> = lines
            .map(|line| format!("<li>{}</li>\n", xml(line.trim())))
            .collect();
        if !rest.is_empty() {
            out.push_str(&format!("<ul>\n{}</ul>\n", rest.concat()));
        }
    }
    out.push_str(&strengths(moment));
    out.push_str("</section>\n");
}

/// Both sides' bases left, in a line each.
fn strengths(moment: &Moment) -> String {
    let game = &moment.after;
    let mut out = String::from("<table>\n");
    for (index, side) in game.scenario().side.iter().enumerate() {
        let (mut left, mut start, mut standing) = (0_u32, 0_u32, 0_u32);
        for unit in game.units().filter(|unit| unit.side == index) {
            if unit.is_commander() {
                continue;
            }
            start += u32::from(unit.bases_at_start);
            if unit.is_on_table() {
                standing += 1;
            }
            if !matches!(unit.state, fieldpost_rules::game::State::Gone(_)) {
                left += u32::from(unit.bases);
            }
        }
        out.push_str(&format!(
            "<tr><th scope=\"row\">{}</th><td>{left} of {start} bases,</td><td>{standing} units on the table</td></tr>\n",
            xml(&side.name)
        ));
    }
    out.push_str("</table>\n");
    out
}
