//! What the duties ask for, worked out once before the search.

use super::*;
use crate::facility::{Carries, Graph, Way};
use crate::sizing::duties::{CurvePeak, SettleDuty};
use crate::sizing::peak::OffCurves;
use crate::sizing::site::pump_stops;

/// Works out what the site sends to the pond, with a shape in place: the largest of the plot, so that nothing upstream or
/// downstream runs short for lack of it. What the run takes without a record is the same whatever the shape: where it is
/// known already, the first year is not run again for it.
pub(super) fn demands(
    site: Site,
    duties: &Duties,
    pond: &Pond,
    base: Basin,
    timeline: &Timeline,
    problems: &Problems,
    taken: Option<&[Assumption]>,
) -> Result<(Demands, Basics), Problems> {
    let facility = site.facility;
    let cells = duties.cells.as_ref().map_or(pond.cells.max(1), |said| u32::try_from(said.value).unwrap_or(1));
    let pool_m = duties.pool.as_ref().map_or_else(|| pool_of(pond), |figure| figure.si);
    let mut demands = Demands {
        duties: duties.clone(),
        needs: Needs::default(),
        pool_m,
        cells,
        terms: Terms::default(),
        rate_m3_s: None,
    };
    let base = with_basin(facility, site.pond, &demands, &Version::of(base));
    let candidates = candidates(&base, site.weather, timeline, site.period)?;
    let inflow = Inflow::of(&candidates, &base, site.pond, site.weather, site.period.0)?;
    let (assumptions, unknown_solids) = match taken {
        Some(taken) => (taken.to_vec(), false),
        None => first_year(site, &base, timeline)?,
    };
    let drained = drained(facility, site.pond, problems);
    let runoff = |rain_m: f64| drained.iter().map(|one| one.runoff_m3(rain_m)).sum::<f64>();
    let typed_share = duties
        .clean_out
        .as_ref()
        .and_then(|duty| duty.dry_solids.as_ref().map(|figure| figure.si))
        .or_else(|| pond.sludge.as_ref()?.dry_solids.ends().map(|(low, _)| low.value).filter(|share| *share > 0.0));
    let dry_share = (typed_share.unwrap_or(USUAL_DRY_SHARE), typed_share.is_some());
    if let Some(drawdown) = duties.storm.as_ref().and_then(|storm| storm.drawdown.as_ref()) {
        if drawdown_to(facility, &demands).is_none_or(|to| to == site.pond) {
            problems.add(
                Problem::error(
                    &drawdown.to.place,
                    format!("there is no place `{}` to let water out to", drawdown.to.value),
                )
                .hint("name a place of the facility file, such as a discharge point or another pond"),
            );
        }
        if drawdown.empties_hold && duties.hold.is_none() {
            problems.add(
                Problem::error(
                    &drawdown.place,
                    "this drawdown goes down to the foot of what is held, and nothing is to be held",
                )
                .hint("take `down to` out, or write what is to be held: `hold: {first rain: 0.5 in}`"),
            );
        }
        if pond.pumped_out.is_some() {
            problems.add(
                Problem::error(&drawdown.place, "this pond is pumped out on its level already, in the facility file")
                    .hint("keep one of the two: `pumped out` there, or the drawdown here"),
            );
        }
    }
    let of_forebay = duties.forebay.as_ref().filter(|duty| duty.every.is_some()).map(|duty| &duty.place);
    if let Some(place) = duties.clean_out.as_ref().map(|duty| &duty.place).or(of_forebay)
        && unknown_solids
    {
        problems.add(
            Problem::error(place, "solids that come to this pond are not known, so its sludge can't be worked out")
                .hint("give the solids of what runs to it and the shares that filters stop, or take the duty out"),
        );
    }
    let needs = &mut demands.needs;
    let (mut returned, mut washed) = (None, None);
    if let Some(hold) = &duties.hold {
        returned = hold.return_days.as_ref().and_then(|days| inflow.most_returned(days.value));
        washed = hold.wash_days.as_ref().and_then(|days| inflow.most_wash(days.value));
        needs.return_m3 = returned.map_or(0.0, |most| most.m3);
        needs.wash_m3 = washed.map_or(0.0, |most| most.m3);
        if let Some(rain) = &hold.first_rain {
            needs.first_rain_m = rain.si;
            needs.first_rain_runoff_m3 = runoff(rain.si);
        }
    }
    if let Some(storm) = &duties.storm {
        needs.storm_m = storm.storm.depth.si;
        needs.storm_runoff_m3 = runoff(storm.storm.depth.si);
    }
    if duties.clean_out.is_some() || duties.forebay.is_some() {
        needs.sludge = inflow.sludge(&candidates, facility, site.weather, dry_share.0);
    }
    let mut peak = None;
    needs.drained_m2 = drained.iter().map(|one| one.share * one.area_m2).sum();
    let draws =
        |way: &Way| matches!(way.carries, Carries::Drawn | Carries::TopUp | Carries::WashSupply | Carries::SpraySupply);
    needs.is_drawn = Graph::of(facility).ways_from(site.pond).any(draws);
    needs.pump_stops = pump_stops(pond);
    needs.lowest_pump_m = if pond.lowest_pump_level.is_some() { pool_of(pond) } else { 0.0 };
    if let Some(duty) = &duties.forebay
        && pool_m <= 0.0
    {
        problems.add(
            Problem::error(
                &duty.place,
                "a forebay is parted off in the settling pool, and nothing says how deep that is",
            )
            .hint("write `settling pool: 3 ft`"),
        );
    }
    if let Some(duty) = &duties.forebay
        && let Some(runoff) = &duty.runoff
        && needs.drained_m2 <= 0.0
    {
        problems.add(
            Problem::error(&runoff.place, "no ground drains to this pond, so no runoff says how large the forebay is")
                .hint("write `share of the pool at least: 10 %`"),
        );
    }
    if let Some(settle) = &duties.settle
        && pool_m <= 0.0
    {
        problems.add(
            Problem::error(&settle.place, "nothing says how deep the water is that the particle settles in")
                .hint("write `settling pool: 2 ft`: water that stays over the sludge. Depth does not help settling, but too little stirs up what settled"),
        );
    }
    if let Some(settle) = &duties.settle {
        needs.settling_m_s = settling_m_s(settle, settle.temperature.si);
        if needs.settling_m_s.is_nan() || needs.settling_m_s <= 0.0 {
            problems.add(
                Problem::error(&settle.density.place, "a particle no denser than water never settles")
                    .hint("what floats is skimmed, not settled: name a particle that sinks"),
            );
        }
        match &settle.flow {
            Some(flow) => needs.peak_m3_s = flow.si,
            None => {
                let mut worked = peak::dry_weather(&base, site.pond);
                match &settle.rain_at_peak {
                    Some(rain) => {
                        needs.peak_rain_m_s = rain.si;
                        if peak::runoff(&mut worked, &drained, rain.si, off_curves(duties, settle)) {
                            problems.add(
                                Problem::error(&settle.place, "ground with a curve number drains to this pond, and nothing says how its peak is worked out")
                                    .hint("write `runs off at the peak: 45 %` (rational), `time of concentration: 20 min, rainfall type: II` (graphical; needs the storm), or a `storm` with its depths"),
                            );
                        }
                    }
                    None => {
                        if let Some((_, m3)) = inflow.most_runoff().filter(|(_, m3)| *m3 > 0.0) {
                            worked.parts.push(peak::PeakPart {
                                from: "the wettest day's runoff, spread over 24 h".to_owned(),
                                what: "runoff",
                                m3_s: m3 / 86_400.0,
                            });
                            needs.peak_rain_m_s = wettest_day_m(site) / 86_400.0;
                            worked.left_out.push(
                                "runoff within a day: heavy rain runs off faster than a day's mean; write `rain at the peak`".to_owned(),
                            );
                        }
                    }
                }
                needs.peak_m3_s = worked.m3_s();
                if needs.peak_m3_s.is_nan() || needs.peak_m3_s <= 0.0 {
                    problems.add(
                        Problem::error(
                            &settle.place,
                            "no flow to this pond could be worked out, so nothing says what it must settle at",
                        )
                        .hint("write the flow and where it comes from: `flow: 620 gpm, flow from: pump curve`"),
                    );
                }
                peak = Some(worked);
            }
        }
    }
    let of_peak = (demands.needs.peak_m3_s, demands.needs.peak_rain_m_s);
    let needs = &mut demands.needs;
    let flows = [
        (
            duties.overflow_rate.as_ref().map(|duty| (&duty.flow, &duty.place)),
            (&mut needs.overflow_m3_s, &mut needs.overflow_rain_m_s),
        ),
        (
            duties.detention.as_ref().map(|duty| (&duty.flow, &duty.place)),
            (&mut needs.detained_m3_s, &mut needs.detained_rain_m_s),
        ),
    ];
    for (duty, (into, rain_into)) in flows {
        let Some((typed, place)) = duty else { continue };
        // A flow that was typed stays as typed.
        (*into, *rain_into) = typed.as_ref().map_or(of_peak, |flow| (flow.si, 0.0));
        if *into <= 0.0 {
            problems.add(
                Problem::error(place, "nothing says at what flow this is asked")
                    .hint("write `flow: 620 gpm` with it; the flow of `settle` is taken where that is given"),
            );
        }
    }
    if problems.has_errors() {
        let told = Problems::new();
        problems.in_order().into_iter().for_each(|problem| told.add(problem));
        return Err(told);
    }
    let stuck_wash = facility
        .places
        .iter()
        .filter_map(|place| match &place.kind {
            PlaceKind::Filter(filter) => {
                let wash = filter.wash.as_ref()?;
                let share = crate::sizing::drainage::share_along(facility, &wash.to, site.pond, 0);
                let rate = share * peak::wash_rate(filter)?;
                (rate > 0.0).then(|| (place.name.clone(), rate))
            }
            _ => None,
        })
        .max_by(|a, b| a.1.total_cmp(&b.1));
    let days = candidates.days();
    let unknown_days = (0..days)
        .filter(|day| {
            let date = site.period.0.checked_add_days(Days::new(*day as u64));
            date.and_then(|date| site.weather.rain_on(date)).is_none_or(|rain| rain.depth_mm.is_none())
        })
        .count();
    let uses = uses_of(facility, site.pond);
    let basics = Basics {
        drained,
        peak,
        returned,
        washed,
        dry_share,
        solids_kg_a_year: inflow.solids_kg.iter().flatten().sum::<f64>() / inflow.years().max(1e-9),
        stuck_wash,
        circulating: washes_back(facility, site.pond),
        uses: uses.iter().filter_map(|id| facility.get(*id)).map(|place| place.name.clone()).collect(),
        assumptions,
        steps_per_day: candidates.steps_per_day(),
        unknown_days,
        days,
    };
    Ok((demands, basics))
}

/// The most rain of a day in the years, m.
fn wettest_day_m(site: Site) -> f64 {
    let days = site.period.0.iter_days().take_while(|date| *date <= site.period.1);
    let depths = days.filter_map(|date| site.weather.rain_on(date)?.depth_mm);
    depths.fold(0.0, f64::max) / 1000.0
}

/// Filters that draw from the pond and wash into it, by name, and whether they do so straight.
fn washes_back(facility: &Facility, pond: PlaceId) -> Vec<(String, bool)> {
    let back = |place: &crate::facility::model::SitePlace| match &place.kind {
        PlaceKind::Filter(filter) => {
            let to = &filter.wash.as_ref()?.to;
            let comes = crate::sizing::drainage::share_along(facility, to, pond, 0) > 0.0;
            comes.then(|| (place.name.clone(), to.targets().contains(&pond)))
        }
        _ => None,
    };
    circulating(facility, pond).into_iter().filter_map(|id| back(facility.get(id)?)).collect()
}

/// How fast the particle falls in water of a temperature, m/s.
pub(super) fn settling_m_s(settle: &SettleDuty, kelvin_water: f64) -> f64 {
    settling_velocity(
        Length::new::<meter>(settle.particle.si),
        MassDensity::new::<kilogram_per_cubic_meter>(settle.density.si),
        ThermodynamicTemperature::new::<kelvin>(kelvin_water),
    )
    .value
    .get::<meter_per_second>()
}

/// How the peak of ground with a curve number is worked out: as typed, else by the share of the file's storm that runs off.
pub(super) fn off_curves(duties: &Duties, settle: &SettleDuty) -> Option<OffCurves> {
    let storm_m = duties.storm.as_ref().map(|storm| storm.storm.depth.si);
    match (&settle.curve_peak, storm_m) {
        (Some(CurvePeak::Share(share)), _) => Some(OffCurves::Share(share.si)),
        (Some(CurvePeak::Graphical(time, kind)), Some(storm_m)) => Some(OffCurves::Graphical(storm_m, time.si, *kind)),
        (Some(CurvePeak::Graphical(..)), None) => None,
        (None, storm_m) => storm_m.map(OffCurves::ShareOfStorm),
    }
}
