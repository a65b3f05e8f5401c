//! Where in an authored file a thing stands, such as `unit[3].troops`.

use std::fmt;

/// One step down the tree of a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Step {
    /// A key of a table.
    Key(String),
    /// An item of a list, counted from 0.
    Item(usize),
}

/// A path from the top of a file to a value.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Place(Vec<Step>);

impl Place {
    /// The file itself.
    pub(super) fn top() -> Self {
        Self::default()
    }

    /// The value of a key at the top of the file.
    pub fn of(key: &str) -> Self {
        Self::top().key(key)
    }

    /// The value of a key of the table at this place.
    pub fn key(&self, key: &str) -> Self {
        self.then(Step::Key(key.to_owned()))
    }

    /// An item of the list at this place.
    pub fn item(&self, index: usize) -> Self {
        self.then(Step::Item(index))
    }

    fn then(&self, step: Step) -> Self {
        let mut steps = self.0.clone();
        steps.push(step);
        Self(steps)
    }

    pub(super) fn steps(&self) -> &[Step] {
        &self.0
    }

    /// The key this place ends in, and the place of its table.
    pub(super) fn last_key(&self) -> Option<(Self, &str)> {
        match self.0.split_last() {
            Some((Step::Key(key), above)) => Some((Self(above.to_vec()), key)),
            _ => None,
        }
    }

    /// Whether this place is that one or within it.
    pub(super) fn is_in(&self, other: &Self) -> bool {
        self.0.starts_with(&other.0)
    }

    /// The heading of a table at this place, without its brackets: the keys alone.
    pub(super) fn heading(&self) -> Self {
        let keys = self.0.iter().filter(|step| matches!(step, Step::Key(_)));
        Self(keys.cloned().collect())
    }

    /// The entry this place belongs to: down to the first item of a list, or two keys deep.
    pub(super) fn entry(&self) -> &[Step] {
        let first_item = self
            .0
            .iter()
            .position(|step| matches!(step, Step::Item(_)))
            .map_or(2, |item| item + 1);
        &self.0[..first_item.min(self.0.len())]
    }
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (depth, step) in self.0.iter().enumerate() {
            match step {
                Step::Item(index) => write!(f, "[{index}]")?,
                Step::Key(key) => {
                    if depth > 0 {
                        f.write_str(".")?;
                    }
                    if is_bare(key) {
                        f.write_str(key)?;
                    } else {
                        write!(f, "{key:?}")?;
                    }
                }
            }
        }
        Ok(())
    }
}

/// Whether TOML lets a key stand without quotes.
pub(super) fn is_bare(key: &str) -> bool {
    !key.is_empty()
        && key
            .chars()
            .all(|c| c.is_ascii_alphanumeric() || c == '-' || c == '_')
}

#[cfg(test)]
mod tests {
    use super::Place;

    #[test]
    fn places_read_as_toml_paths() {
        let place = Place::of("troops").key("light horse").key("arm");
        assert_eq!(place.to_string(), "troops.\"light horse\".arm");
        assert_eq!(
            Place::of("unit").item(3).key("at").item(0).to_string(),
            "unit[3].at[0]"
        );
    }
}
