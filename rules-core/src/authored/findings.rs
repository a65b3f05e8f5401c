//! What the checks of one file have found.

use super::document::{Caret, Document};
use super::faults::{ENOUGH, Fault};
use super::near::did_you_mean;
use super::place::Place;

/// Collects the faults of one file.
pub struct Findings<'d> {
    document: &'d Document<'d>,
    /// Values that could not be read and whose defaults stand in.
    spoilt: Vec<Place>,
    faults: Vec<Fault>,
    counted: usize,
}

impl<'d> Findings<'d> {
    pub(super) fn new(document: &'d Document<'d>, spoilt: Vec<Place>) -> Self {
        Self {
            document,
            spoilt,
            faults: Vec::new(),
            counted: 0,
        }
    }

    /// The faults, and how many more were only counted.
    pub(super) fn into_faults(self) -> (Vec<Fault>, usize) {
        (self.faults, self.counted)
    }

    /// Whether the author wrote a setting, and did not leave it to its default.
    pub(super) fn is_written(&self, place: &Place) -> bool {
        self.document.is_written(place)
    }

    /// Whether a value, or something within it, could not be read.
    pub(super) fn is_spoilt(&self, place: &Place) -> bool {
        self.spoilt.iter().any(|spoilt| spoilt.is_in(place))
    }

    /// Reports a fault of a value.
    pub fn fault(&mut self, place: &Place, problem: impl Into<String>, remedy: impl Into<String>) {
        self.report(place, Caret::Value, problem.into(), remedy.into());
    }

    /// Reports a fault of a key that the author chose.
    pub(super) fn fault_of_key(
        &mut self,
        place: &Place,
        problem: impl Into<String>,
        remedy: impl Into<String>,
    ) {
        self.report(place, Caret::Key, problem.into(), remedy.into());
    }

    /// An entry with a value that could not be read is not judged further: what it lacks may be
    /// what could not be read.
    fn report(&mut self, place: &Place, caret: Caret, problem: String, remedy: String) {
        if self
            .spoilt
            .iter()
            .any(|spoilt| spoilt.entry() == place.entry())
        {
            return;
        }
        if self.faults.len() >= ENOUGH {
            self.counted += 1;
            return;
        }
        self.faults
            .push(self.document.fault(place, caret, problem, remedy));
    }

    /// Whether a name is one of the known ones; reports it when it is not.
    pub fn known<'c>(
        &mut self,
        place: &Place,
        name: &str,
        what: &str,
        plural: &str,
        known: impl IntoIterator<Item = &'c str> + Clone,
    ) -> bool {
        if known.clone().into_iter().any(|known| known == name) {
            return true;
        }
        let remedy = did_you_mean(name, plural, known);
        self.fault(place, format!("{name:?} is no {what}"), remedy);
        false
    }
}
