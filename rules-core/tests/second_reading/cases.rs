//! A case: settings, a table and orders, as data that can be written out, changed and made smaller.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::fmt::Write as _;

use fieldpost_rules::authored;
use fieldpost_rules::game::{Battlefield, Ground};
use fieldpost_rules::orders::{Leg, Order};
use fieldpost_rules::ruleset::Ruleset;

#[derive(Debug, Clone, PartialEq)]
pub struct UnitSpec {
    pub id: String,
    pub red: bool,
    pub troops: &'static str,
    pub files: u16,
    pub ranks: u16,
    pub bases: u16,
    pub at: [f64; 3],
    /// An edge to arrive at instead.
    pub arrives: Option<&'static str>,
    pub command: Option<&'static str>,
}

#[derive(Debug, Clone, PartialEq)]
pub struct LineSpec {
    pub kind: &'static str,
    pub points: Vec<[f64; 2]>,
    pub span: Option<([f64; 2], f64)>,
}

#[derive(Debug, Clone)]
pub struct Case {
    /// Settings that differ from the defaults, by dotted key.
    pub settings: BTreeMap<String, String>,
    /// All lengths are multiplied by it: twins by scale.
    pub scale: f64,
    pub table_mm: f64,
    pub units: Vec<UnitSpec>,
    pub patches: Vec<(&'static str, Vec<[f64; 2]>)>,
    pub lines: Vec<LineSpec>,
    pub roads: Vec<(Vec<[f64; 2]>, f64)>,
    pub orders: Vec<Order>,
    pub lattice: bool,
}

/// What every ruleset of these tests has.
const FIXED: &str = r#"terrain.broken = { rate = 2 }
terrain.marsh = { rate = 3 }
terrain.lawn = { rate = 0.5, defence = 1.5 }
terrain.hill = { shift = -1 }
terrain.pond = { impassable = true }
lines.stream = { charge = 2 }
lines.wall = { charge = 1, defence = 2 }
lines.slope = { charge = 1, slope = true, shift = -1 }
troops.foot = { arm = "foot", movement_points = 3, strength_per_base = 1 }
troops.horse = { arm = "horse", movement_points = 6, strength_per_base = 2, base_depth = 1 }
troops.general = { arm = "commander", movement_points = 8, base_width = 0.75, base_depth = 0.75, command_radius = 4 }
troops.guns = { arm = "guns", movement_points = 1, strength_per_base = 3, base_depth = 1 }
"#;

/// The results that battles are fought with unless a case has its own.
const RESULTS: &str = r#"results = { kind = "odds", dice = { count = 1, faces = 2 }, columns = ["1:1"], row = [{ throw = 1, outcomes = ["nothing"] }, { throw = 2, outcomes = ["nothing"] }], outcome = { nothing = {} } }
"#;

impl Case {
    pub fn ruleset(&self) -> String {
        let mut text = format!(
            "format = 1\nname = \"Second reading\"\nscale.base_width_mm = {}\n",
            40.0 * self.scale
        );
        if !self.settings.contains_key("scale.tolerance_mm") {
            let _ = writeln!(text, "scale.tolerance_mm = {}", 0.5 * self.scale);
        }
        for (key, value) in &self.settings {
            if key == "scale.tolerance_mm" {
                let tolerance: f64 = value.parse().unwrap();
                let _ = writeln!(text, "{key} = {}", tolerance * self.scale);
            } else {
                let _ = writeln!(text, "{key} = {value}");
            }
        }
        if !self.settings.contains_key("results") {
            text.push_str(RESULTS);
        }
        text.push_str(FIXED);
        text
    }

    pub fn scenario(&self) -> String {
        let size = self.table_mm * self.scale;
        let mut text = format!(
            "format = 1\nname = \"A table\"\ngame_turns = 10\ntable = {{ width_mm = {size}, depth_mm = {size} }}\n\
             side = [{{ key = \"red\", name = \"Red\" }}, {{ key = \"blue\", name = \"Blue\" }}]\n"
        );
        let place = |p: &[f64; 2]| format!("[{}, {}]", p[0] * self.scale, p[1] * self.scale);
        let places = |all: &[[f64; 2]]| all.iter().map(place).collect::<Vec<_>>().join(", ");
        for (n, (kind, outline)) in self.patches.iter().enumerate() {
            let _ = writeln!(
                text,
                "[[terrain]]\nname = \"patch {n}\"\nkind = \"{kind}\"\noutline = [{}]",
                places(outline)
            );
        }
        for (n, line) in self.lines.iter().enumerate() {
            let _ = writeln!(
                text,
                "[[line]]\nname = \"line {n}\"\nkind = \"{}\"\npoints = [{}]",
                line.kind,
                places(&line.points)
            );
            if let Some((at, width)) = line.span {
                let _ = writeln!(
                    text,
                    "[[line.span]]\nname = \"bridge {n}\"\nat = {}\nwidth_mm = {}",
                    place(&at),
                    width * self.scale
                );
            }
        }
        for (n, (points, width)) in self.roads.iter().enumerate() {
            let _ = writeln!(
                text,
                "[[road]]\nname = \"road {n}\"\npoints = [{}]\nwidth_mm = {}",
                places(points),
                width * self.scale
            );
        }
        for unit in &self.units {
            let side = if unit.red { "red" } else { "blue" };
            let _ = writeln!(
                text,
                "[[unit]]\nid = \"{}\"\nname = \"{}\"\nside = \"{side}\"\ntroops = \"{}\"\nfiles = {}\nranks = {}\nbases = {}",
                unit.id, unit.id, unit.troops, unit.files, unit.ranks, unit.bases
            );
            match unit.arrives {
                Some(edge) => {
                    let _ = writeln!(
                        text,
                        "arrives = {{ game_turn = 1, edge = \"{edge}\", from_mm = 0, to_mm = {size} }}"
                    );
                }
                None => {
                    let [x, y, bearing] = unit.at;
                    let _ = writeln!(
                        text,
                        "at = [{}, {}, {bearing}]",
                        x * self.scale,
                        y * self.scale
                    );
                }
            }
            if let Some(command) = unit.command {
                let _ = writeln!(text, "command = \"{command}\"");
            }
        }
        text
    }

    /// The battle, unless the authors' checks find fault with it.
    pub fn open(&self) -> Option<Battlefield> {
        let ruleset = rules_of(self.ruleset())?;
        let scenario = authored::read_scenario("scenario", &self.scenario(), &ruleset).ok()?;
        let ground = Ground::new(&scenario, &ruleset).ok()?;
        Some(Battlefield {
            ruleset,
            scenario,
            ground,
        })
    }

    /// In words, for people who lay it out on a table.
    pub fn words(&self) -> String {
        let mut text = String::new();
        if !self.settings.is_empty() {
            let all: Vec<String> = self
                .settings
                .iter()
                .map(|(k, v)| format!("{k} = {v}"))
                .collect();
            let _ = writeln!(text, "    rules: {}", all.join(", "));
        }
        for unit in &self.units {
            let [x, y, bearing] = unit.at;
            let place = match unit.arrives {
                Some(edge) => format!("arrives {edge}"),
                None => format!("at ({x}, {y}, {bearing})"),
            };
            let command = unit.command.unwrap_or_default();
            let _ = writeln!(
                text,
                "    {} {} {command} {}x{} ({} bases) {place}",
                unit.id, unit.troops, unit.files, unit.ranks, unit.bases
            );
        }
        for (kind, outline) in &self.patches {
            let _ = writeln!(text, "    {kind} {outline:?}");
        }
        for line in &self.lines {
            let _ = writeln!(
                text,
                "    {} {:?} span {:?}",
                line.kind, line.points, line.span
            );
        }
        for (points, width) in &self.roads {
            let _ = writeln!(text, "    road {points:?} {width} wide");
        }
        for order in &self.orders {
            let _ = writeln!(text, "    {}", serde_json::to_string(order).unwrap());
        }
        text
    }
}

/// The ruleset of a text. The last one is remembered: twins share it.
fn rules_of(text: String) -> Option<Ruleset> {
    thread_local! {
        static LAST: RefCell<Option<(String, Option<Ruleset>)>> = const { RefCell::new(None) };
    }
    LAST.with_borrow_mut(|last| {
        if last.as_ref().is_none_or(|(known, _)| *known != text) {
            let ruleset = authored::read_ruleset("ruleset", &text).ok();
            *last = Some((text, ruleset));
        }
        last.as_ref()?.1.clone()
    })
}

pub fn legs_of(order: &Order) -> &[Leg] {
    match order {
        Order::Move { legs, .. }
        | Order::MoveTogether { legs, .. }
        | Order::Arrive { legs, .. }
        | Order::Withdraw { legs, .. } => legs,
        _ => &[],
    }
}

pub fn legs_of_mut(order: &mut Order) -> Option<&mut Vec<Leg>> {
    match order {
        Order::Move { legs, .. }
        | Order::MoveTogether { legs, .. }
        | Order::Arrive { legs, .. }
        | Order::Withdraw { legs, .. } => Some(legs),
        _ => None,
    }
}
