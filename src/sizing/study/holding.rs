//! What came to the pond and what it held, day by day, held against what is to be held.

use super::*;
use crate::sizing::Came;

impl Runner<'_> {
    /// Rain of each day, mm; none where it is not known.
    pub(super) fn rain_mm(&self) -> Vec<Option<f64>> {
        let (first, last) = self.site.period;
        first
            .iter_days()
            .take_while(|date| *date <= last)
            .map(|date| self.site.weather.rain_on(date)?.depth_mm)
            .collect()
    }

    /// How the room for what is to be held was found: `came` as it is seen in the runs, and of each day what came back over
    /// other places.
    pub(super) fn hold_run(
        &self,
        basin: &Basin,
        sludge_m3: f64,
        rain_mm: &[Option<f64>],
        holds: &[f64],
        (came, came_back): (&[Vec<f64>], &[f64]),
    ) -> HoldRun {
        let Some(duty) = &self.demands.duties.hold else { return HoldRun::default() };
        // A level that a drawdown keeps is no level too high.
        let most_m3 = basin.volume_m3(self.demands.hold_foot_m(basin) + DRAWDOWN_STARTS_OVER_M) - sludge_m3;
        let taken: Vec<bool> = holds.iter().map(|m3| *m3 > most_m3 + 1e-6 * (1.0 + most_m3.abs())).collect();
        let at = |series: usize, day: usize| came.get(series).and_then(|of| of.get(day)).copied().unwrap_or(0.0);
        let came: Vec<Came> = (0..holds.len())
            .map(|day| {
                let runoff: f64 = (1..=4).map(|series| at(series, day)).sum();
                let supply = at(6, day);
                let washed: f64 = (8..8 + WASH.len()).map(|series| at(series, day)).sum();
                let returned = (at(0, day) - runoff - supply - at(7, day) - washed).max(0.0);
                // What only comes back fills nothing.
                let back: f64 = (8 + WASH.len()..came.len()).map(|series| at(series, day)).sum();
                let wash = (washed - back).max(0.0);
                // Over what spills it is seen as runoff, and else as what other places send.
                let over = came_back.get(day).copied().unwrap_or(0.0);
                let spilled = (over - returned).max(0.0);
                Came { runoff: (runoff - spilled).max(0.0), supply, returned: (returned - over).max(0.0), wash }
            })
            .collect();
        HoldRun::of(duty, rain_mm, &came, &taken)
    }
}
