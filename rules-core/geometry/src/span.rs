//! Spans: parts of a motion or a path, as shares between 0 and 1.

use super::figures::SAME_SHARE;

/// A part of a motion or path, as shares of the whole in `0..=1`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Span {
    /// Share at which the part begins.
    pub from: f64,
    /// Share at which it ends.
    pub to: f64,
}

impl Span {
    /// All of a motion or path.
    pub const WHOLE: Self = Self { from: 0.0, to: 1.0 };

    /// The part between two shares.
    #[must_use]
    pub const fn new(from: f64, to: f64) -> Self {
        Self { from, to }
    }

    /// How much of the whole this part is.
    #[must_use]
    pub fn length(self) -> f64 {
        self.to - self.from
    }

    /// The share half way through.
    #[must_use]
    pub fn middle(self) -> f64 {
        f64::midpoint(self.from, self.to)
    }

    /// Whether a share lies in this part, ends included.
    #[must_use]
    pub fn holds(self, share: f64) -> bool {
        self.from <= share && share <= self.to
    }
}

/// The same parts sorted and joined where they overlap or meet.
#[must_use]
pub fn merged(mut spans: Vec<Span>) -> Vec<Span> {
    spans.sort_by(|a, b| a.from.total_cmp(&b.from));
    let mut joined: Vec<Span> = Vec::with_capacity(spans.len());
    for span in spans {
        match joined.last_mut() {
            Some(last) if span.from <= last.to + SAME_SHARE => {
                if span.to > last.to {
                    last.to = span.to;
                }
            }
            _ => joined.push(span),
        }
    }
    joined
}

/// What is left of sorted, disjoint `spans` when sorted, disjoint `taken` are taken out.
#[must_use]
pub fn without(spans: &[Span], taken: &[Span]) -> Vec<Span> {
    let mut left = Vec::with_capacity(spans.len());
    for span in spans {
        let mut from = span.from;
        for hole in taken {
            if hole.to <= from || hole.from >= span.to {
                continue;
            }
            if hole.from > from {
                left.push(Span::new(from, hole.from));
            }
            from = hole.to;
        }
        if from < span.to {
            left.push(Span::new(from, span.to));
        }
    }
    left
}

/// What sorted, disjoint `spans` leave of the whole.
#[must_use]
pub fn gaps(spans: &[Span]) -> Vec<Span> {
    without(&[Span::WHOLE], spans)
}

/// The parts in which `holds` is true, given every share at which it may change. The test is
/// made once between neighbouring events, half way, where it is farthest from changing; an
/// event given in error only costs a test. Empties `events`, appends to `found`.
pub(super) fn spans_where(
    events: &mut Vec<f64>,
    holds: impl Fn(f64) -> bool,
    found: &mut Vec<Span>,
) {
    events.retain(|share| *share > 0.0 && *share < 1.0);
    events.sort_by(f64::total_cmp);
    events.push(1.0);
    let mut from = 0.0;
    let mut open: Option<Span> = None;
    for &to in events.iter() {
        if to - from < SAME_SHARE && to < 1.0 {
            continue;
        }
        if holds(f64::midpoint(from, to)) {
            match &mut open {
                Some(span) => span.to = to,
                None => open = Some(Span::new(from, to)),
            }
        } else if let Some(span) = open.take() {
            found.push(span);
        }
        from = to;
    }
    found.extend(open);
    events.clear();
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn overlapping_and_meeting_parts_become_one() {
        let spans = vec![
            Span::new(0.5, 0.6),
            Span::new(0.0, 0.2),
            Span::new(0.1, 0.3),
            Span::new(0.6, 0.7),
        ];
        assert_eq!(merged(spans), [Span::new(0.0, 0.3), Span::new(0.5, 0.7)]);
    }

    #[test]
    fn gaps_are_what_is_not_covered() {
        let spans = [Span::new(0.0, 0.25), Span::new(0.5, 0.75)];
        assert_eq!(gaps(&spans), [Span::new(0.25, 0.5), Span::new(0.75, 1.0)]);
        assert_eq!(gaps(&[]), [Span::WHOLE]);
        assert_eq!(gaps(&[Span::WHOLE]), []);
    }

    #[test]
    fn a_change_given_twice_makes_no_splinter() {
        let mut found = Vec::new();
        let mut events = vec![0.5, 0.25, 0.5 + 1e-16, f64::NAN, 7.0];
        spans_where(&mut events, |share| share > 0.5, &mut found);
        assert_eq!(found, [Span::new(0.5, 1.0)]);
    }
}
