//! The results table: columns, dice, and outcomes as data.

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::fmt;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Serialize};

use super::Distance;

/// A results table.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Results {
    /// Whether columns are odds or differences of strength.
    pub kind: ResultsKind,
    /// The dice whose total picks the row.
    #[serde(default)]
    #[schemars(extend("x-example" = "{ count = 2, faces = 6 }"))]
    pub dice: Dice,
    /// Columns from the defender's best to the attacker's best: odds such as "3:2", or
    /// differences such as -2. Strengths between two columns use the one better for the defender.
    #[schemars(length(min = 1, max = 40))]
    pub columns: Vec<Column>,
    /// One row for each total of the dice, or for several together.
    #[schemars(length(min = 1, max = 400))]
    pub row: Vec<Row>,
    /// What the names in the rows mean.
    pub outcome: BTreeMap<String, Outcome>,
    /// Whether an outcome's losses fall on each unit of the side or on the side as a whole.
    #[serde(default)]
    pub losses: Losses,
}

/// Whether columns are odds or differences of strength.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ResultsKind {
    /// Attacking strength to defending strength.
    Odds,
    /// Attacking strength less defending strength.
    Differential,
}

/// A throw of equal dice.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Dice {
    /// How many dice.
    #[schemars(range(min = 1, max = 10))]
    pub count: u32,
    /// Faces of each.
    #[schemars(range(min = 2, max = 100))]
    pub faces: u32,
}

impl Default for Dice {
    fn default() -> Self {
        Self { count: 1, faces: 6 }
    }
}

impl fmt::Display for Dice {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.count == 1 {
            write!(f, "d{}", self.faces)
        } else {
            write!(f, "{}d{}", self.count, self.faces)
        }
    }
}

/// The head of a column, exact: `attack : defence` for odds, `attack` less `defence` for differences.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Column {
    /// Odds of attacker to defender.
    Odds {
        /// Attacker's share.
        attack: f64,
        /// Defender's share.
        defence: f64,
    },
    /// Attacker's strength less the defender's.
    Difference(f64),
}

impl Column {
    /// Reads `"3:2"` or `"-2"`.
    ///
    /// # Errors
    /// A sentence that says what would do.
    pub fn parse(text: &str) -> Result<Self, String> {
        let number = |part: &str| {
            part.trim()
                .parse::<f64>()
                .ok()
                .filter(|n| n.is_finite() && n.abs() <= 1e6)
        };
        let fault = || {
            format!(
                "{text:?} is not a column; write odds such as \"3:2\", or a difference such as -2"
            )
        };
        if let Some((attack, defence)) = text.split_once(':') {
            match (number(attack), number(defence)) {
                (Some(attack), Some(defence)) if attack > 0.0 && defence > 0.0 => {
                    Ok(Self::Odds { attack, defence })
                }
                _ => Err(fault()),
            }
        } else {
            number(text).map(Self::Difference).ok_or_else(fault)
        }
    }
}

impl fmt::Display for Column {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Odds { attack, defence } => write!(f, "{attack}:{defence}"),
            Self::Difference(difference) if *difference > 0.0 => write!(f, "+{difference}"),
            Self::Difference(difference) => write!(f, "{difference}"),
        }
    }
}

impl Serialize for Column {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self {
            Self::Difference(difference) => serializer.serialize_f64(*difference),
            Self::Odds { .. } => serializer.collect_str(self),
        }
    }
}

impl<'de> Deserialize<'de> for Column {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        #[derive(Deserialize)]
        #[serde(untagged)]
        enum Written {
            Number(f64),
            Text(String),
        }
        match Written::deserialize(deserializer)? {
            Written::Number(difference) => Ok(Self::Difference(difference)),
            Written::Text(text) => Self::parse(&text).map_err(serde::de::Error::custom),
        }
    }
}

impl JsonSchema for Column {
    fn schema_name() -> Cow<'static, str> {
        "Column".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "description": "Odds such as \"3:2\", or a difference of strength such as -2.",
            "anyOf": [
                { "type": "number", "minimum": -1_000_000, "maximum": 1_000_000 },
                { "type": "string", "pattern": r"^\s*[0-9]+(\.[0-9]+)?\s*:\s*[0-9]+(\.[0-9]+)?\s*$" }
            ]
        })
    }
}

/// A row of the table.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Row {
    /// Total of the dice, or first and last of several.
    pub throw: Throw,
    /// The name of an outcome for each column.
    pub outcomes: Vec<String>,
}

/// The totals a row answers to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(untagged)]
pub enum Throw {
    /// One total.
    Total(u32),
    /// From the first to the second, both counted.
    Between([u32; 2]),
}

impl Throw {
    /// Whether a total belongs to this row.
    #[must_use]
    pub fn holds(self, total: u32) -> bool {
        let (first, last) = self.ends();
        (first..=last).contains(&total)
    }

    /// First and last total.
    #[must_use]
    pub fn ends(self) -> (u32, u32) {
        match self {
            Self::Total(total) => (total, total),
            Self::Between([first, last]) => (first, last),
        }
    }
}

/// What a result does to both sides.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Outcome {
    /// The outcome in words, for the news.
    #[schemars(length(max = 200))]
    pub words: String,
    /// What happens to the attackers (never to guns that bombarded).
    pub attacker: Fate,
    /// What happens to the defenders.
    pub defender: Fate,
    /// Both sides lose bases until each has lost at least the strength of the weaker side.
    pub exchange: bool,
}

/// What a result does to one side.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Fate {
    /// How far each unit falls back, in base widths; absent: it stands.
    pub falls_back: Option<Distance>,
    /// Bases lost.
    #[schemars(range(min = 0, max = 1000))]
    #[schemars(extend("x-unit" = "bases"))]
    pub loses: u32,
    /// Whether every unit is removed.
    pub eliminated: bool,
}

impl Fate {
    /// Whether this fate leaves a side as it was: a fall back of no distance does.
    #[must_use]
    pub fn is_nothing(&self) -> bool {
        !self.eliminated && self.loses == 0 && !self.moves()
    }

    /// Whether who is left falls back, and by more than nothing.
    #[must_use]
    pub fn moves(&self) -> bool {
        self.falls_back
            .is_some_and(|distance| distance.amount > 0.0)
    }
}

/// On whom an outcome's losses fall.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Losses {
    /// Each unit of the side loses so many bases.
    #[default]
    EachUnit,
    /// The side loses so many in all, one at a time from its largest unit.
    Side,
}
