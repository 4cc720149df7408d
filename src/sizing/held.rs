//! Whether the room for what is to be held was there when something to hold came, and the storm's when that does.
//!
//! It is wanted at the close of the day before something comes that did not come already: the first wet day after one
//! without rain, where first rain is to be held; and of return and wash water the first day of each stretch of as many
//! days as are to be held. What goes on of the same rain, or of the same stretch, finds the room as it filled it, and that
//! is no lack. Days whose own rain, or that of the day before, is not known want nothing.

use super::{Check, Comes, DRY_DAY_MM, Duty, Hold, Measure, Simulated, StormDuty, Terms};

/// Water to be held that is less than this on a day, m³, did not come: below what any gauge shows.
const LEAST_M3: f64 = 0.001;

/// What came to the pond on each day, m³.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Came {
    /// Rain on it and runoff, straight or over what spilled upstream.
    pub runoff: f64,
    /// A supply that fills it on purpose.
    pub supply: f64,
    /// Return water, and all else that other places send.
    pub returned: f64,
    /// Wash water and what goes with it.
    pub wash: f64,
}

impl Came {
    fn plus(self, other: Self) -> Self {
        Self {
            runoff: self.runoff + other.runoff,
            supply: self.supply + other.supply,
            returned: self.returned + other.returned,
            wash: self.wash + other.wash,
        }
    }

    /// All of it.
    pub fn all(self) -> f64 {
        self.runoff + self.supply + self.returned + self.wash
    }
}

/// How the room for what is to be held was found over the years.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct HoldRun {
    /// Times that something to hold came.
    pub wanted: usize,
    /// Of these, those that found the room taken at the close of the day before.
    pub lacking: usize,
    /// What came on days that closed with it taken, m³.
    pub taken_by: Came,
}

impl HoldRun {
    /// Holds a run against the duty: of each day its rain in mm, none where it is not known; what came; and whether it
    /// closed with the room taken.
    pub fn of(duty: &Hold, rain_mm: &[Option<f64>], came: &[Came], taken: &[bool]) -> Self {
        let wet = |day: usize| rain_mm.get(day).copied().flatten().map(|mm| mm >= DRY_DAY_MM);
        let days = |said: Option<u32>| said.filter(|days| *days > 0).map(|days| days as usize);
        let returns = Stretches::new(days(duty.return_days.as_ref().map(|said| said.value)));
        let washes = Stretches::new(days(duty.wash_days.as_ref().map(|said| said.value)));
        let (mut returns, mut washes, mut found) = (returns, washes, Self::default());
        for (day, of) in came.iter().enumerate() {
            let return_begins = returns.begins(of.returned > LEAST_M3);
            let wash_begins = washes.begins(of.wash > LEAST_M3);
            if taken.get(day).copied().unwrap_or(false) {
                found.taken_by = found.taken_by.plus(*of);
            }
            let Some(before) = day.checked_sub(1) else { continue };
            let (Some(wet_now), Some(wet_before)) = (wet(day), wet(before)) else { continue };
            let rain_begins = duty.first_rain.is_some() && wet_now && !wet_before;
            if return_begins || wash_begins || rain_begins {
                found.wanted += 1;
                found.lacking += usize::from(taken.get(before).copied().unwrap_or(false));
            }
        }
        found
    }
}

/// Stretches of days on which something comes, each begun anew after so many.
struct Stretches {
    anew_after: Option<usize>,
    gone_on: usize,
}

impl Stretches {
    fn new(anew_after: Option<usize>) -> Self {
        Self { anew_after, gone_on: 0 }
    }

    /// Whether a stretch begins with this day.
    fn begins(&mut self, comes: bool) -> bool {
        let Some(anew_after) = self.anew_after else { return false };
        if !comes {
            self.gone_on = 0;
            return false;
        }
        let begins = self.gone_on == 0;
        self.gone_on = (self.gone_on + 1) % anew_after;
        begins
    }
}

/// Whether the storm's room is free when it comes. A share of days that was typed, or asked of the run's own levels, is a
/// duty of the shape; after a drawdown the room may lack for as long as that takes, and a day.
pub(super) fn storm_room(storm: &StormDuty, run: &Simulated, terms: Terms) -> Check {
    let check = match (&storm.room_on, &storm.drawdown) {
        (None, Some(drawdown)) => {
            let most = (drawdown.within_h / 24.0).ceil() + 1.0;
            Check::new(Duty::StormRoom, Measure::Days, most, run.longest_lacking_days as f64)
        }
        (room_on, _) => {
            let asked = room_on.as_ref().map_or(1.0, |share| share.si);
            Check::new(Duty::StormRoom, Measure::Share, asked, run.room_share())
        }
    };
    // What a supply fills up and a drawdown lets out again before the day closes was not free within the day.
    let filled = run.filled_into_storm && storm.drawdown.is_some() && check.comes == Comes::Done;
    let check = if filled { Check { comes: Comes::NotDone, ..check } } else { check };
    if terms.keeps || storm.refuses_without_room() && !filled { check } else { check.not_refused() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::Said;
    use crate::sizing::Figure;
    use crate::told::Place;

    #[test]
    fn what_came_is_added_stream_by_stream() {
        let one = Came { runoff: 1.0, supply: 2.0, returned: 4.0, wash: 8.0 };
        let both = one.plus(Came { runoff: 16.0, supply: 32.0, returned: 64.0, wash: 128.0 });
        assert_eq!((both.runoff, both.supply, both.returned, both.wash), (17.0, 34.0, 68.0, 136.0));
        assert_eq!(both.all(), 255.0);
    }

    fn duty(return_days: Option<u32>, first_rain: bool) -> Hold {
        let place = Place::file("basin.yaml");
        let said = |value: u32| Said { value, text: format!("{value} days"), place: place.clone(), key: String::new() };
        Hold {
            return_days: return_days.map(said),
            wash_days: None,
            first_rain: first_rain.then(|| Figure { si: 0.008, text: "8 mm".to_owned(), place: place.clone() }),
            place,
        }
    }

    #[test]
    fn first_rain_wants_its_room_before_the_first_wet_day_of_a_spell() {
        // Spells begin on days 1, 4 and 7; of day 6 the rain is not known, so day 7 tells nothing.
        let rain = [Some(0.0), Some(9.0), Some(5.0), Some(0.2), Some(3.0), Some(0.0), None, Some(4.0)];
        let came = [Came { runoff: 1.0, ..Came::default() }; 8];
        let taken = [false, true, true, true, true, false, false, false];
        let found = HoldRun::of(&duty(None, true), &rain, &came, &taken);
        // Before day 1 it was free; before day 4 it was still full of the first spell.
        assert_eq!((found.wanted, found.lacking), (2, 1));
        assert_eq!(found.taken_by, Came { runoff: 4.0, ..Came::default() });
        // A run that never closes with it free lacks it each time.
        let found = HoldRun::of(&duty(None, true), &rain, &came, &[true; 8]);
        assert_eq!((found.wanted, found.lacking), (2, 2));
    }

    #[test]
    fn return_water_wants_its_room_anew_for_each_stretch_that_is_to_be_held() {
        let comes = [false, true, true, true, true, true, false, true];
        let came = comes.map(|comes| Came { returned: if comes { 9.0 } else { 0.0 }, ..Came::default() });
        let rain = [Some(0.0); 8];
        // Days 1, 3, 5 and 7 begin two days each; those before 3 and 5 closed with it taken.
        let taken = [false, false, true, false, true, false, false, true];
        let found = HoldRun::of(&duty(Some(2), false), &rain, &came, &taken);
        assert_eq!((found.wanted, found.lacking), (4, 2));
        // Day by day: of 1, 2, 3, 4, 5 and 7 those before 3 and 5.
        let found = HoldRun::of(&duty(Some(1), false), &rain, &came, &taken);
        assert_eq!((found.wanted, found.lacking), (6, 2));
    }
}
