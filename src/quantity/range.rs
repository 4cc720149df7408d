//! A stated value: an amount, a range of amounts, or "not known".

/// Two ends of what a value may be; a plain amount has equal ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Range<Q> {
    /// The lower end.
    pub low: Q,
    /// The upper end, never below `low`.
    pub high: Q,
}

impl<Q: Copy> Range<Q> {
    /// A plain amount: both ends are `value`.
    pub fn exactly(value: Q) -> Self {
        Self { low: value, high: value }
    }
}

impl<Q: Copy + PartialEq> Range<Q> {
    /// Whether both ends are the same amount.
    pub fn is_exact(&self) -> bool {
        self.low == self.high
    }
}

/// What a user wrote for a value: something, or that it is not known yet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stated<Q> {
    /// An amount or a range.
    Known(Range<Q>),
    /// `not known`: figures that depend on it are not shown, and name it.
    NotKnown,
}

impl<Q: Copy> Stated<Q> {
    /// The range, if the value is known.
    pub fn known(&self) -> Option<Range<Q>> {
        match self {
            Self::Known(range) => Some(*range),
            Self::NotKnown => None,
        }
    }
}
