//! Walks the tree of a file beside its schema and reports everything that does not fit.

use serde_json::Value;
use toml::Spanned;
use toml::de::{DeArray, DeTable, DeValue};

use super::document::{Caret, Document};
use super::faults::{ENOUGH, Fault};
use super::near;
use super::place::{Place, Step};
use super::schema::{Allowed, Written, allowed, in_words};

/// Longest name of a kind, troop type or outcome, in characters.
pub(super) const LONGEST_NAME: usize = 60;

/// What a walk found.
#[derive(Default)]
pub(super) struct Walked {
    /// The faults.
    pub(super) faults: Vec<Fault>,
    /// How many more there were.
    pub(super) counted: usize,
    /// Places whose value cannot be read.
    pub(super) spoilt: Vec<Place>,
    /// Places whose table lacks something, which says nothing when the text is broken.
    pub(super) lacking: Vec<Fault>,
}

/// Walks a document beside a schema.
pub(super) fn walk(document: &Document<'_>, schema: &Value) -> Walked {
    let mut walker = Walker {
        document,
        schema,
        found: Walked::default(),
    };
    walker.table(document.root.get_ref(), schema, &Place::top());
    walker.found
}

struct Walker<'d> {
    document: &'d Document<'d>,
    schema: &'d Value,
    found: Walked,
}

impl<'d> Walker<'d> {
    fn fault(&mut self, place: &Place, problem: String, remedy: String) {
        if self.is_enough() {
            return;
        }
        let fault = self.document.fault(place, Caret::Value, problem, remedy);
        self.found.faults.push(fault);
        self.found.spoilt.push(place.clone());
    }

    /// Whether there are faults enough to be told; a further one is only counted.
    fn is_enough(&mut self) -> bool {
        let enough = self.found.faults.len() + self.found.lacking.len() >= ENOUGH;
        self.found.counted += usize::from(enough);
        enough
    }

    fn value(&mut self, value: &Spanned<DeValue<'_>>, node: &'d Value, place: &Place) {
        let allows = allowed(self.schema, node);
        match (value.get_ref(), allows) {
            (DeValue::Table(table), Allowed::Table(shape)) => self.table(table, shape, place),
            (DeValue::Array(list), Allowed::List(shape)) => self.list(list, shape, place),
            (DeValue::String(text), Allowed::Text(shape)) => self.text(text, shape, place),
            (DeValue::String(text), Allowed::Choice(choices)) => self.choice(text, choices, place),
            (DeValue::String(text), Allowed::Written(form, _)) => self.written(form, text, place),
            (DeValue::Integer(_) | DeValue::Float(_), Allowed::Written(_, shape)) => {
                match shape["anyOf"].get(0) {
                    Some(bounds) => self.number(value.get_ref(), (bounds, node), place, false),
                    None => self.wrong_kind(value, allows, node, place),
                }
            }
            (DeValue::Integer(_) | DeValue::Float(_), Allowed::Number(shape)) => {
                self.number(value.get_ref(), (shape, node), place, false);
            }
            (DeValue::Integer(_) | DeValue::Float(_), Allowed::Whole(shape)) => {
                self.number(value.get_ref(), (shape, node), place, true);
            }
            (_, Allowed::Any(branches)) => self.any(value, branches, node, place),
            (DeValue::Boolean(_), Allowed::Truth) | (_, Allowed::Anything) => {}
            _ => self.wrong_kind(value, allows, node, place),
        }
    }

    fn wrong_kind(
        &mut self,
        value: &Spanned<DeValue<'_>>,
        allows: Allowed<'_>,
        node: &Value,
        place: &Place,
    ) {
        if let Some((problem, remedy)) = self.brackets(value.get_ref(), allows, place) {
            self.fault(place, problem, remedy);
            return;
        }
        let problem = format!(
            "{} takes {}, not {}",
            subject(place),
            in_words(allows),
            kind_in_words(value.get_ref())
        );
        let number_in_quotes = match (value.get_ref(), allows) {
            (DeValue::String(text), Allowed::Number(_) | Allowed::Whole(_)) => text
                .trim()
                .parse::<f64>()
                .is_ok()
                .then(|| text.trim().to_owned()),
            _ => None,
        };
        let remedy = match number_in_quotes {
            Some(number) => format!("write {number} without quotes"),
            None => meaning(place, node).unwrap_or_else(|| format!("write {}", in_words(allows))),
        };
        let remedy = match node["x-example"].as_str() {
            Some(example) => format!("{remedy}; write {} = {example}", subject(place)),
            None => remedy,
        };
        self.fault(place, problem, remedy);
    }

    /// A heading in single brackets where there may be several of a table, and the other way round.
    fn brackets(
        &self,
        value: &DeValue<'_>,
        allows: Allowed<'_>,
        place: &Place,
    ) -> Option<(String, String)> {
        let is_table = |node| matches!(allowed(self.schema, node), Allowed::Table(_));
        let (name, heading) = (subject(place), place.heading());
        match (value, allows) {
            (DeValue::Table(_), Allowed::List(shape)) if is_table(&shape["items"]) => Some((
                format!("there may be several of {name:?}, and this heads only one"),
                format!("double the brackets: [[{heading}]]"),
            )),
            (DeValue::Array(list), Allowed::Table(_)) => {
                let first = list.first()?.get_ref();
                first.is_table().then(|| {
                    let problem =
                        format!("there is only one {name:?}, and this heads one of several");
                    (problem, format!("write single brackets: [{heading}]"))
                })
            }
            _ => None,
        }
    }

    fn table(&mut self, table: &DeTable<'_>, shape: &'d Value, place: &Place) {
        let known = shape["properties"].as_object();
        for (key, value) in table {
            let below = place.key(key.get_ref());
            let property = known.and_then(|known| known.get(key.get_ref().as_ref()));
            match (property, &shape["additionalProperties"]) {
                (Some(node), _) => self.value(value, node, &below),
                (None, Value::Object(_)) => {
                    self.name(key.get_ref(), &below);
                    self.value(value, &shape["additionalProperties"], &below);
                }
                (None, Value::Bool(false)) => self.unknown_key(key.get_ref(), shape, &below),
                (None, _) => {}
            }
        }
        for required in shape["required"].as_array().into_iter().flatten() {
            let Some(key) = required.as_str().filter(|key| !table.contains_key(*key)) else {
                continue;
            };
            self.missing(key, &shape["properties"][key], place);
        }
    }

    fn missing(&mut self, key: &str, node: &Value, place: &Place) {
        if self.is_enough() {
            return;
        }
        let takes = in_words(allowed(self.schema, node));
        let about = about(node).map_or_else(String::new, |about| format!(": {about}"));
        let problem = match place.steps().last() {
            None => format!("the file has no {key:?}"),
            Some(_) => format!("{} has no {key:?}", subject(place)),
        };
        let remedy = format!("add {key}, {takes}{about}");
        let fault = self.document.fault(place, Caret::Value, problem, remedy);
        self.found.lacking.push(fault);
    }

    fn unknown_key(&mut self, key: &str, shape: &Value, place: &Place) {
        if self.is_enough() {
            return;
        }
        let known = shape["properties"].as_object();
        let names = known.into_iter().flat_map(|known| known.keys());
        let remedy = near::did_you_mean(key, "settings here", names.map(String::as_str));
        let problem = format!("there is no setting {key:?} here");
        let fault = self.document.fault(place, Caret::Key, problem, remedy);
        self.found.faults.push(fault);
        self.found.spoilt.push(place.clone());
    }

    /// A name that the author chose, as a key.
    fn name(&mut self, name: &str, place: &Place) {
        if name.trim().is_empty() || name.chars().count() > LONGEST_NAME {
            let problem = format!("a name takes 1 to {LONGEST_NAME} characters");
            let remedy = "choose a short name in plain words".to_owned();
            let fault = self.document.fault(place, Caret::Key, problem, remedy);
            self.found.faults.push(fault);
        } else if let Some(bad) = name.chars().find(|c| is_unprintable(*c)) {
            self.unprintable(bad, place, Caret::Key);
        }
    }

    fn unprintable(&mut self, bad: char, place: &Place, caret: Caret) {
        if self.is_enough() {
            return;
        }
        let problem = format!(
            "the character U+{:04X} cannot be shown in one line",
            bad as u32
        );
        let remedy = "remove it".to_owned();
        let fault = self.document.fault(place, caret, problem, remedy);
        self.found.faults.push(fault);
    }

    fn list(&mut self, list: &DeArray<'_>, shape: &'d Value, place: &Place) {
        let bounds = (shape["minItems"].as_u64(), shape["maxItems"].as_u64());
        let length = list.len() as u64;
        if bounds.0.is_some_and(|least| length < least)
            || bounds.1.is_some_and(|most| length > most)
        {
            let problem = format!(
                "{} takes {}, not of {length}",
                subject(place),
                in_words(Allowed::List(shape))
            );
            let remedy = meaning(place, shape).unwrap_or_else(|| "correct the list".to_owned());
            self.fault(place, problem, remedy);
            return;
        }
        for (index, item) in list.iter().enumerate() {
            self.value(item, &shape["items"], &place.item(index));
        }
    }

    fn text(&mut self, text: &str, shape: &Value, place: &Place) {
        let length = text.chars().count() as u64;
        let least = shape["minLength"].as_u64().unwrap_or(0);
        let most = shape["maxLength"].as_u64().unwrap_or(u64::MAX);
        let paragraphs = shape["x-paragraphs"].as_bool().unwrap_or(false);
        if least > 0 && text.trim().is_empty() {
            let remedy = meaning(place, shape).unwrap_or_else(|| "write it out".to_owned());
            self.fault(place, format!("{} is empty", subject(place)), remedy);
        } else if length > most {
            let problem = format!(
                "{} takes at most {most} characters, not {length}",
                subject(place)
            );
            self.fault(place, problem, "shorten it".to_owned());
        } else if let Some(bad) = text
            .chars()
            .find(|c| is_unprintable(*c) && !(paragraphs && matches!(c, '\n' | '\t')))
        {
            self.unprintable(bad, place, Caret::Value);
        }
    }

    fn choice(&mut self, text: &str, choices: &[Value], place: &Place) {
        let words = choices.iter().filter_map(|choice| choice["const"].as_str());
        if !words.clone().any(|word| word == text) {
            let problem = format!("{text:?} is no choice for {}", subject(place));
            self.fault(place, problem, near::did_you_mean(text, "choices", words));
        }
    }

    fn written(&mut self, form: Written, text: &str, place: &Place) {
        if let Some(problem) = form.fault_of(text) {
            let (problem, remedy) = match problem.split_once("; ") {
                Some((problem, remedy)) => (problem.to_owned(), remedy.to_owned()),
                None => (problem, format!("write {}", form.in_words())),
            };
            self.fault(place, problem, remedy);
        }
    }

    fn number(
        &mut self,
        value: &DeValue<'_>,
        (shape, node): (&Value, &Value),
        place: &Place,
        whole: bool,
    ) {
        let takes = if whole {
            in_words(Allowed::Whole(shape))
        } else {
            in_words(Allowed::Number(shape))
        };
        let remedy = meaning(place, node).unwrap_or_else(|| format!("write {takes}"));
        let Some(number) = number_of(value) else {
            let problem = format!(
                "{} takes {takes}, and this one is out of reach",
                subject(place)
            );
            self.fault(place, problem, remedy);
            return;
        };
        let least = shape["minimum"].as_f64().unwrap_or(f64::NEG_INFINITY);
        let most = shape["maximum"].as_f64().unwrap_or(largest(shape));
        let fits = number.is_finite()
            && (least..=most).contains(&number)
            && !(whole && matches!(value, DeValue::Float(_)));
        if !fits {
            let problem = format!("{} takes {takes}, not {number}", subject(place));
            self.fault(place, problem, remedy);
        }
    }

    fn any(
        &mut self,
        value: &Spanned<DeValue<'_>>,
        branches: &'d [Value],
        node: &Value,
        place: &Place,
    ) {
        let branch = branches.iter().find(|branch| {
            matches!(
                (value.get_ref(), allowed(self.schema, branch)),
                (DeValue::Integer(_), Allowed::Whole(_)) | (DeValue::Array(_), Allowed::List(_))
            )
        });
        match branch {
            Some(branch) => self.value(value, branch, place),
            None => self.wrong_kind(value, Allowed::Any(branches), node, place),
        }
    }
}

/// The setting at a place, as a sentence's subject.
fn subject(place: &Place) -> String {
    let mut items = 0;
    for step in place.steps().iter().rev() {
        match step {
            Step::Item(_) => items += 1,
            Step::Key(key) if items == 0 => return key.clone(),
            Step::Key(key) => return format!("an entry of {key}"),
        }
    }
    "the file".to_owned()
}

/// What the type's author says of a setting, as a sentence without its full stop.
fn about(node: &Value) -> Option<String> {
    let text = node["description"].as_str()?.replace('\n', " ");
    Some(text.trim_end_matches('.').to_owned())
}

/// What a setting means, as a remedy.
fn meaning(place: &Place, node: &Value) -> Option<String> {
    Some(format!("{} means: {}", subject(place), about(node)?))
}

fn kind_in_words(value: &DeValue<'_>) -> &'static str {
    match value {
        DeValue::String(_) => "text",
        DeValue::Integer(_) => "a whole number",
        DeValue::Float(_) => "a number",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a date",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}

/// A number of the file; `None` when no 64 bits hold it.
fn number_of(value: &DeValue<'_>) -> Option<f64> {
    match value {
        #[expect(clippy::cast_precision_loss, reason = "only compared with bounds")]
        DeValue::Integer(whole) => i64::from_str_radix(whole.as_str(), whole.radix())
            .ok()
            .map(|whole| whole as f64),
        DeValue::Float(number) => number.as_str().parse().ok(),
        _ => None,
    }
}

/// Largest number of a schema's format.
fn largest(shape: &Value) -> f64 {
    match shape["format"].as_str() {
        Some("uint16") => f64::from(u16::MAX),
        Some("uint32") => f64::from(u32::MAX),
        _ => f64::MAX,
    }
}

/// Whether a character has no place in a name: controls, and marks that turn text round.
pub(super) fn is_unprintable(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{feff}')
}
