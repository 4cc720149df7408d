//! Flows through a shape, with the rain on its own surface, and the water that is sure to be there when they come.

use super::{Basin, Corners, Demands, Stack};

/// Where a pump on level stops, as the pond is described.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PumpStops {
    /// m below the spill level, which a shape that is searched for keeps.
    pub below_spill_m: f64,
    /// m above the floor, which a pond that stands keeps.
    pub above_floor_m: f64,
}

/// What water that is sure to be there ends under.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StaysUnder {
    /// The lowest level that something draws down to: the top of the settling pool.
    LowestPumpLevel,
    /// The level at which a pump on level stops.
    PumpStops,
    /// The rooms of the storm and of what is held, which stand empty for them.
    Rooms,
    /// The spill level.
    Spill,
}

impl Demands {
    /// The design flow through a shape, m³/s: what is worked out comes with the rain on the pond, over all that lies within
    /// its bank top.
    pub fn peak_m3_s(&self, basin: &Basin) -> f64 {
        self.needs.peak_m3_s + self.needs.peak_rain_m_s * basin.crest_area_m2()
    }

    /// The flow that an overflow rate is asked at, m³/s.
    pub fn overflow_m3_s(&self, basin: &Basin) -> f64 {
        self.needs.overflow_m3_s + self.needs.overflow_rain_m_s * basin.crest_area_m2()
    }

    /// The flow that a time of detention is asked at, m³/s.
    pub fn detained_m3_s(&self, basin: &Basin) -> f64 {
        self.needs.detained_m3_s + self.needs.detained_rain_m_s * basin.crest_area_m2()
    }

    /// Water over the sludge that is left when all has been drawn that may be, m³: no shape of a box leaves more. The pool
    /// has the most in the largest plan with the shallowest floor. None where nothing draws.
    fn left_m3(&self, surface: &Basin, room: &Basin, lost_m3: f64) -> Option<f64> {
        let pool = || {
            let stack = self.stack(surface);
            (surface.volume_m3(stack.pool_top_m) - stack.lost_m3()).max(0.0)
        };
        match (self.needs.is_drawn, self.needs.pump_stops) {
            (true, _) => Some(pool()),
            (false, Some(stops)) => {
                let level_m = self.pump_stops_m(room, stops).clamp(0.0, room.depth_m);
                Some((room.volume_m3(level_m) - lost_m3).max(pool()))
            }
            (false, None) => None,
        }
    }

    fn pump_stops_m(&self, basin: &Basin, stops: PumpStops) -> f64 {
        if self.terms.stands { stops.above_floor_m } else { basin.depth_m - stops.below_spill_m }
    }

    /// Water over the sludge that is sure to be there, m³: what lies under the rooms of the storm and of what is held, and
    /// under every level that something draws down to.
    pub fn sure_water_m3(&self, basin: &Basin) -> f64 {
        self.sure_water_between_m3(&Corners::of(*basin), &self.stack(basin))
    }

    fn sure_water_between_m3(&self, corners: &Corners, needs: &Stack) -> f64 {
        let under_rooms = (self.sure_m3(&corners.room, needs) - needs.lost_m3()).max(0.0);
        let left = self.left_m3(&corners.surface, &corners.room, needs.lost_m3());
        left.map_or(under_rooms, |left| left.min(under_rooms))
    }

    /// Hours that water stays in the best shape of a box: the least flow is that through its smallest plan.
    pub(super) fn stays_between_h(&self, corners: &Corners, needs: &Stack) -> f64 {
        self.sure_water_between_m3(corners, needs) / self.detained_m3_s(&corners.needs) / 3600.0
    }

    /// Hours that water stays in a shape: what is sure to be there, and all up to the spill level.
    pub fn stays_h(&self, basin: &Basin) -> (f64, f64) {
        let lost_m3 = self.stack(basin).lost_m3();
        let hours = |m3: f64| m3 / self.detained_m3_s(basin) / 3600.0;
        (hours(self.sure_water_m3(basin)), hours((basin.capacity_m3() - lost_m3).max(0.0)))
    }

    /// The levels that water which is sure to be there lies between, m above the floor, and what it ends under.
    pub fn stays_between_m(&self, basin: &Basin) -> (f64, f64, StaysUnder) {
        let stack = self.stack(basin);
        let lost_m3 = stack.lost_m3();
        let under_rooms = (self.sure_m3(basin, &stack) - lost_m3).max(0.0);
        let (m3, under) = match self.left_m3(basin, basin, lost_m3) {
            Some(left) if left < under_rooms && self.needs.is_drawn => (left, StaysUnder::LowestPumpLevel),
            Some(left) if left < under_rooms => (left, StaysUnder::PumpStops),
            _ if under_rooms < (basin.capacity_m3() - lost_m3) * (1.0 - 1e-9) => (under_rooms, StaysUnder::Rooms),
            _ => (under_rooms, StaysUnder::Spill),
        };
        (stack.sludge_top_m, basin.level_m(lost_m3 + m3), under)
    }
}

#[cfg(test)]
#[path = "tests/stays.rs"]
mod tests;
