//! A calendar of marks: a row for each month, a square for each day.

use serde::Serialize;

use crate::page::document::Cell;

/// What is known of a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum DayMark {
    /// The day does not belong to the period.
    Outside,
    /// Nothing is on file.
    NotSeen,
    /// Nothing is on file, and the computation moved water.
    ComputedOnly,
    /// A look or a meter shows that nothing flowed.
    Dry,
    /// A look or a meter shows that water flowed.
    Flowing,
}

impl DayMark {
    /// The marks of the key, in its order.
    pub const KEY: [Self; 4] = [Self::Flowing, Self::Dry, Self::ComputedOnly, Self::NotSeen];

    /// What the key says.
    pub fn words(self) -> &'static str {
        match self {
            Self::Outside => "not in the period",
            Self::NotSeen => "not looked at",
            Self::ComputedOnly => "not looked at, computed flow",
            Self::Dry => "dry",
            Self::Flowing => "flowing",
        }
    }
}

/// A month of a calendar.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CalendarMonth {
    /// As printed: `Mar 2025`.
    pub name: String,
    /// A mark for each day from the 1st on, and whether a sample was taken.
    pub days: Vec<(DayMark, bool)>,
    /// What the days come to, in the calendar's unit: what left in the month.
    pub total: Option<Cell>,
}

impl CalendarMonth {
    /// On how many days water flowed, by a look, a meter or the computation alone.
    pub fn days_with_water(&self) -> usize {
        self.days.iter().filter(|(mark, _)| matches!(mark, DayMark::Flowing | DayMark::ComputedOnly)).count()
    }
}

/// A calendar.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
pub struct Calendar {
    /// Its months, in order.
    pub months: Vec<CalendarMonth>,
    /// The head of the totals, with their unit: `left, gal`.
    pub totals: String,
}

impl Calendar {
    /// Whether a month has a total.
    pub fn has_totals(&self) -> bool {
        self.months.iter().any(|month| month.total.is_some())
    }
}
