//! A facility file in the user's own names, with what the site has and nothing else.

use std::fmt::Write as _;

use super::answers::Answers;
use crate::facility::kinds::FilterKind;
use crate::records::sheet::quoted;

/// Kinds that the water runs to by itself; through the others it is drawn.
const RUNS_TO: [&str; 3] = ["gravity screen", "vibrating screen", "microscreen drum"];

/// Every kind of filter with typical figures.
const TO_COPY: &str = include_str!("../../../templates/filters-to-copy.yaml");

/// A line of a starter that its reader should change.
const TYPICAL: &str = "# typical, change me; common practice, no source";

/// What is made of the answers: names of places that the answers imply, and who flows where.
pub(super) struct Site<'a> {
    answers: &'a Answers,
    supplies: Vec<String>,
    uses: Vec<(String, String)>,
    yard: String,
    roofs: String,
    bin: String,
    skip: String,
    /// Where what can go nowhere else goes, if it is needed.
    soaks: String,
}

impl<'a> Site<'a> {
    pub fn of(answers: &'a Answers) -> Self {
        let taken: Vec<String> = answers
            .supplies
            .iter()
            .chain(&answers.tanks)
            .chain(&answers.ponds)
            .chain(&answers.outfalls)
            .chain(&answers.sewer)
            .chain(answers.uses.iter().chain(&answers.filters).chain(&answers.meters).map(|(name, _)| name))
            .map(|name| plain(name))
            .collect();
        let free = |name: &str| {
            let names = std::iter::once(name.to_owned()).chain((2..).map(|number| format!("{name} {number}")));
            names.into_iter().find(|name| !taken.contains(&plain(name))).unwrap_or_default()
        };
        let mut uses = answers.uses.clone();
        if uses.is_empty() && !answers.filters.is_empty() {
            uses.push((free("Irrigation"), "overhead".to_owned()));
        }
        let mut supplies = answers.supplies.clone();
        if supplies.is_empty() && answers.ponds.is_empty() && answers.tanks.is_empty() && !uses.is_empty() {
            supplies.push(free("Water supply"));
        }
        Self {
            answers,
            supplies,
            uses,
            yard: free("Yard"),
            roofs: free("Roofs"),
            bin: free("Screenings bin"),
            skip: free("Skip"),
            soaks: free("Soaks away"),
        }
    }

    fn u(&self, us: &'static str, metric: &'static str) -> &'static str {
        if self.answers.metric { metric } else { us }
    }

    /// Where dirty water goes: the first pond, else off the site.
    fn waste(&self) -> &str {
        let answers = self.answers;
        answers.ponds.first().or(answers.sewer.as_ref()).or(answers.outfalls.first()).unwrap_or(&self.soaks)
    }

    /// Where all water is drawn from: the last tank, else the last pond, else the supplies.
    fn source(&self) -> Vec<&str> {
        match self.answers.tanks.last().or(self.answers.ponds.last()) {
            Some(store) => vec![store],
            None => self.supplies.iter().map(String::as_str).collect(),
        }
    }

    fn drawn(&self) -> impl DoubleEndedIterator<Item = &(String, String)> {
        self.answers.filters.iter().filter(|(_, kind)| !RUNS_TO.contains(&kind.as_str()))
    }

    fn run_to(&self) -> impl DoubleEndedIterator<Item = &(String, String)> {
        self.answers.filters.iter().filter(|(_, kind)| RUNS_TO.contains(&kind.as_str()))
    }

    /// Whether what the uses give back runs to the first screen; else the yard's rain does, if there is a yard.
    fn uses_feed_the_screen(&self) -> bool {
        self.answers.sewer.is_none()
            || self.uses.iter().any(|(_, kind)| kind != "washdown")
            || self.answers.yard.is_none()
    }

    /// Where a roof's rain goes, and what stands behind the last filter that water runs to.
    fn clean(&self) -> &str {
        self.answers.tanks.first().or(self.answers.ponds.last()).map_or(self.waste(), String::as_str)
    }

    /// Whether rain falls on anything.
    pub fn has_rain(&self) -> bool {
        self.answers.yard.is_some() || self.answers.roofs.is_some() || !self.answers.ponds.is_empty()
    }

    fn goes_nowhere(&self, text: &str) -> bool {
        text.contains(&format!(": {}\n", quoted(&self.soaks))) || text.contains(&format!(": {} ", quoted(&self.soaks)))
    }

    /// The facility file.
    pub fn yaml(&self) -> String {
        let answers = self.answers;
        let mut out = String::new();
        let _ = write!(
            out,
            "# yaml-language-server: $schema=.schema/facility.json\n\
             # What is on the site and where the water goes, made from your answers. It works as it stands; change what is not so.\n\
             # Every number carries its unit. A range is fine: 50 % to 70 %. If you don't know a figure yet, write: not known\n\
             # typical, change me: a figure out of common practice, without a source, good enough to begin with.\n\n\
             name: {}\nreport in: {}\npaper: {}\nrules: rules.yaml\nrecords: records\nday starts: \"{}\"\n\
             period: 1 Jan 2025 to 31 Dec 2025     # change me: the permit year you want to look at\n",
            quoted(&answers.name),
            self.u("US units", "metric units"),
            self.u("letter", "A4"),
            answers.day_starts,
        );
        self.picture(&mut out);
        self.weather(&mut out);
        self.solids(&mut out);
        let mut places = String::new();
        self.inflows(&mut places);
        self.uses(&mut places);
        self.filters(&mut places);
        self.stores(&mut places);
        self.meters(&mut out);
        out.push_str(&places);
        self.ends(&places, &mut out);
        out
    }

    /// Rows of the site's picture, from where water comes to where it leaves.
    fn picture(&self, out: &mut String) {
        const MOST: usize = 4;
        let answers = self.answers;
        let ground = [answers.yard.as_ref().map(|_| &self.yard), answers.roofs.as_ref().map(|_| &self.roofs)];
        let rows: [Vec<&String>; 4] = [
            self.supplies.iter().chain(ground.into_iter().flatten()).collect(),
            self.uses.iter().chain(&answers.filters).map(|(name, _)| name).collect(),
            answers.tanks.iter().chain(&answers.ponds).collect(),
            answers.outfalls.iter().chain(&answers.sewer).collect(),
        ];
        let rows: Vec<String> = rows
            .iter()
            .flat_map(|row| row.chunks(MOST))
            .map(|row| format!("[{}]", row.iter().map(|name| quoted(name)).collect::<Vec<_>>().join(", ")))
            .collect();
        if !rows.is_empty() {
            let _ = writeln!(
                out,
                "\n# The site's picture: rows from the top, each from the left, as the places lie on the ground.\npicture: [{}]",
                rows.join(", ")
            );
        }
    }

    fn weather(&self, out: &mut String) {
        if !self.has_rain() {
            out.push_str("weather: {}\n");
            return;
        }
        let _ = writeln!(
            out,
            "\nweather:\n  # `belongs to: the day that ended`: a reading of the morning of the 5th is of the 4th. A sheet that writes it under\n  \
             # the day it fell on says `that day`.\n  \
             rain: {{file: rain.csv, read at: \"{}\", belongs to: the day that ended, a reading may cover: several days}}",
            self.answers.day_starts
        );
        if !self.answers.ponds.is_empty() {
            let _ = writeln!(
                out,
                "  pond evaporation: {{Nov to Feb: {}, Mar to May: {}, Jun to Aug: {}, Sep to Oct: {}}}   {TYPICAL}\n  \
                 water temperature: {{Nov to Feb: {}, Mar to May: {}, Jun to Aug: {}, Sep to Oct: {}}}   {TYPICAL}",
                self.u("1.0 in/month", "25 mm/month"),
                self.u("3.2 in/month", "80 mm/month"),
                self.u("5.0 in/month", "130 mm/month"),
                self.u("2.2 in/month", "55 mm/month"),
                self.u("43 F", "6 C"),
                self.u("54 F", "12 C"),
                self.u("70 F", "21 C"),
                self.u("58 F", "14 C"),
            );
        }
    }

    fn solids(&self, out: &mut String) {
        let _ = writeln!(
            out,
            "\n# The dirt in the water. Potting mix is nearly as light as water and hardly settles; silt is stone and does.\nsolids:\n  \
             yard silt:   {{density: 2.65 times water, half finer than: 18 um, nine tenths finer than: 90 um}}   {TYPICAL}\n  \
             potting mix: {{density: 1.03 times water to 1.10 times water, half finer than: 45 um, nine tenths finer than: 400 um}}   {TYPICAL}"
        );
    }

    /// What each meter counts, where the answers say which way that is.
    fn meters(&self, out: &mut String) {
        if self.answers.meters.is_empty() {
            return;
        }
        out.push_str(
            "\n# A meter sits on a way from one place to another. `counts in` is what one step of the last digit means.\n\
             # `from`, `to`, `counts in` and `digits` (how many the dial has) must all be there.\nmeters:\n",
        );
        let mut ways: Vec<String> = Vec::new();
        let mut without = Vec::new();
        for (name, of) in &self.answers.meters {
            let way = self.way(of).filter(|way| !ways.contains(way));
            match way {
                Some(way) => {
                    let _ = writeln!(
                        out,
                        "  {}: {{{way}, counts in: {}, digits: 7}}   # change me",
                        quoted(name),
                        self.u("gal", "m3")
                    );
                    ways.push(way);
                }
                None => without.push(name),
            }
        }
        if ways.is_empty() {
            let kept = out.trim_end_matches("meters:\n").len();
            out.truncate(kept);
        }
        for name in without {
            let _ = writeln!(
                out,
                "  # {}: say the way that it counts: {{from: …, to: …, counts in: {}, digits: 7}}",
                quoted(name),
                self.u("gal", "m3")
            );
        }
    }

    /// The way whose water something named in the answers gives or takes.
    fn way(&self, of: &str) -> Option<String> {
        let answers = self.answers;
        let between = |from: &str, to: &str| format!("from: {}, to: {}", quoted(from), quoted(to));
        let first_drawn = self.drawn().next().map(|(name, _)| name.as_str());
        let first_use = self.uses.first().map(|(name, _)| name.as_str());
        if self.supplies.iter().any(|name| name == of) {
            let to =
                answers.ponds.last().or(answers.tanks.first()).map(String::as_str).or(first_drawn).or(first_use)?;
            return Some(between(of, to));
        }
        if let Some((name, kind)) = answers.filters.iter().find(|(name, _)| name == of) {
            let washed = ["pressure screen", "shallow media bed", "deep media bed"].contains(&kind.as_str());
            return Some(match (washed, RUNS_TO.contains(&kind.as_str())) {
                (true, _) => format!("{}, what: wash water", between(name, self.waste())),
                (false, true) => format!("{}, what: water", between(name, self.behind(name))),
                (false, false) => between(self.before(name), name),
            });
        }
        if answers.outfalls.first().is_some_and(|name| name == of) {
            return answers.ponds.last().map(|pond| between(pond, of));
        }
        if answers.sewer.as_deref() == Some(of) {
            let all_to_screen = self.run_to().next().is_some() && self.uses_feed_the_screen();
            let is_all = self.uses.iter().all(|(_, kind)| kind == "washdown");
            let shed = self.uses.iter().find(|(_, kind)| kind == "washdown").filter(|_| !(is_all && all_to_screen));
            return shed.map(|(name, _)| format!("{}, what: return", between(name, of)));
        }
        None
    }

    /// What a filter that draws draws from.
    fn before(&self, filter: &str) -> &str {
        let names: Vec<&str> = self.drawn().map(|(name, _)| name.as_str()).collect();
        let at = names.iter().position(|name| *name == filter).unwrap_or(0);
        at.checked_sub(1)
            .and_then(|at| names.get(at))
            .copied()
            .unwrap_or_else(|| self.source().first().copied().unwrap_or_default())
    }

    /// Where the water of a filter that it runs to goes on to.
    fn behind(&self, filter: &str) -> &str {
        let names: Vec<&str> = self.run_to().map(|(name, _)| name.as_str()).collect();
        let at = names.iter().position(|name| *name == filter).unwrap_or(0);
        names.get(at + 1).copied().unwrap_or_else(|| self.clean())
    }

    fn inflows(&self, out: &mut String) {
        if !self.supplies.is_empty() {
            out.push_str("\nsupplies:\n");
            for name in &self.supplies {
                let _ = writeln!(
                    out,
                    "  {}: {{gives at most: {}}}   # change me",
                    quoted(name),
                    self.u("60 gpm", "14 m3/h")
                );
            }
        }
        if self.answers.yard.is_none() && self.answers.roofs.is_none() {
            return;
        }
        out.push_str("\n# What the rain falls on. Ponds catch their own rain.\nrain falls on:\n");
        let screen = self.run_to().next().filter(|_| !self.uses_feed_the_screen()).map(|(name, _)| name.as_str());
        let ground = [
            (&self.answers.yard, &self.yard, "50 % to 70 %", screen.unwrap_or(self.waste()), true),
            (&self.answers.roofs, &self.roofs, "90 % to 95 %", self.clean(), false),
        ];
        for (area, name, share, to, is_dirty) in ground {
            let Some(area) = area else { continue };
            let _ = writeln!(
                out,
                "  {}:\n    area: {area}\n    runs off: {share}   {TYPICAL}\n    first rain soaked up: {}   {TYPICAL}",
                quoted(name),
                if is_dirty { self.u("0.12 in", "3 mm") } else { self.u("0.02 in", "0.5 mm") }
            );
            if is_dirty {
                let _ = writeln!(
                    out,
                    "    solids: {{yard silt: 80 mg/L to 400 mg/L, potting mix: 20 mg/L to 100 mg/L}}   {TYPICAL}"
                );
            }
            let _ = writeln!(out, "    goes to: {}", quoted(to));
        }
    }

    fn uses(&self, out: &mut String) {
        if self.uses.is_empty() {
            return;
        }
        out.push_str("\n# What uses water: an amount in a day, or an area and a depth.\nuses:\n");
        let behind = |filter: Option<&(String, String)>| match filter {
            Some((filter, _)) => quoted(filter),
            None => match self.source().as_slice() {
                [one] => quoted(one),
                several => format!("[{}]", several.iter().map(|name| quoted(name)).collect::<Vec<_>>().join(", ")),
            },
        };
        // Where something is misted, a membrane is for that and not for the yard.
        let has_mist = self.uses.iter().any(|(_, kind)| kind == "mist");
        let (all, coarse) =
            (behind(self.drawn().next_back()), behind(self.drawn().rfind(|(_, kind)| kind != "membrane")));
        let first_screen = self.run_to().next().filter(|_| self.uses_feed_the_screen()).map(|(name, _)| name.as_str());
        let all_to_sewer = self.uses.iter().all(|(_, kind)| kind == "washdown");
        for (name, kind) in &self.uses {
            let recirculates = matches!(kind.as_str(), "flood floor" | "bench");
            let (returns, mg_l, amount) = match kind.as_str() {
                "flood floor" => ("85 % to 90 %", "25 mg/L", self.u("6000 gal/day", "23 m3/day")),
                "bench" => ("70 % to 90 %", "25 mg/L", self.u("2000 gal/day", "8 m3/day")),
                "drip" => ("5 % to 20 %", "20 mg/L", self.u("3000 gal/day", "11 m3/day")),
                "mist" => ("10 % to 30 %", "10 mg/L", self.u("300 gal/day", "1 m3/day")),
                "washdown" => ("90 %", "150 mg/L to 400 mg/L", self.u("600 gal/day", "2 m3/day")),
                _ => ("40 % to 60 %", "20 mg/L to 100 mg/L", self.u("20000 gal/day", "75 m3/day")),
            };
            let to = match (kind.as_str(), &self.answers.sewer, first_screen) {
                ("washdown", _, Some(screen)) if all_to_sewer => screen,
                ("washdown", Some(sewer), _) => sewer,
                (_, _, Some(screen)) => screen,
                _ if recirculates => self.clean(),
                _ => self.waste(),
            };
            let from = if has_mist && kind != "mist" { &coarse } else { &all };
            let _ = writeln!(
                out,
                "  {}:\n    kind: {kind}\n    amount: {amount}   # change me\n    returns: {returns}   {TYPICAL}\n    \
                 picks up: {{potting mix: {mg_l}}}   {TYPICAL}\n    takes from: {from}\n    runs: 8 h/day   # change me: hours the water flows\n    \
                 goes to: {}",
                quoted(name),
                quoted(to)
            );
        }
    }

    fn filters(&self, out: &mut String) {
        if self.answers.filters.is_empty() {
            return;
        }
        out.push_str("\n# Filters, with typical figures of their kind; more of each kind stands in filters-to-copy.yaml.\nfilters:\n");
        for (name, kind) in &self.answers.filters {
            let _ = writeln!(out, "  {}:", quoted(name));
            for line in block(kind) {
                let bare = line.trim_start();
                let line = match bare.split(':').next().unwrap_or_default() {
                    "takes from" => format!("    takes from: {}", self.taken(name)),
                    "goes to" => format!("    goes to: {}", quoted(self.behind(name))),
                    "reject to" => {
                        format!("    reject to: {}", quoted(self.answers.sewer.as_deref().unwrap_or(self.waste())))
                    }
                    // A hose needs a supply of its own.
                    "hosed down" if self.supplies.is_empty() => continue,
                    _ => self.with_own_names(line),
                };
                let _ = writeln!(out, "{line}");
            }
        }
    }

    /// A line of the file of all kinds with this site's names in place of those that stand there.
    fn with_own_names(&self, line: &str) -> String {
        let supply = self.supplies.first().map_or("", String::as_str);
        let names = [
            (": Settling pond", self.waste()),
            (": Town sewer", self.waste()),
            (": Town water", supply),
            (": Screenings bin", self.bin.as_str()),
            (": Skip", self.skip.as_str()),
        ];
        // Marked first, since a name of the user's may be one of those.
        let mut out = line.to_owned();
        for (at, (there, _)) in names.iter().enumerate() {
            out = out.replace(there, &format!(": \u{1}{at}"));
        }
        for (at, (_, own)) in names.iter().enumerate() {
            out = out.replace(&format!("\u{1}{at}"), &quoted(own));
        }
        out
    }

    fn taken(&self, filter: &str) -> String {
        match (self.drawn().next(), self.source().as_slice()) {
            (Some((first, _)), several) if first == filter && several.len() > 1 => {
                format!("[{}]", several.iter().map(|name| quoted(name)).collect::<Vec<_>>().join(", "))
            }
            _ => quoted(self.before(filter)),
        }
    }

    fn stores(&self, out: &mut String) {
        let answers = self.answers;
        let in_order = |names: &[String]| match names {
            [one] => quoted(one),
            several => format!("[{}]", several.iter().map(|name| quoted(name)).collect::<Vec<_>>().join(", ")),
        };
        if !answers.tanks.is_empty() {
            out.push_str("\ntanks:\n");
        }
        for (at, name) in answers.tanks.iter().enumerate() {
            let _ = writeln!(
                out,
                "  {}:\n    holds: {}   # change me\n    lowest: {}   # change me: where the pump loses its water\n    at the start: {{holding: {}}}",
                quoted(name),
                self.u("6000 gal", "23 m3"),
                self.u("500 gal", "2 m3"),
                self.u("4800 gal", "18 m3")
            );
            let from = match at.checked_sub(1).and_then(|before| answers.tanks.get(before)).or(answers.ponds.last()) {
                Some(store) => Some(quoted(store)),
                None => (!self.supplies.is_empty()).then(|| in_order(&self.supplies)),
            };
            if let Some(from) = from {
                let _ = writeln!(
                    out,
                    "    filled from: {{from: {from}, up to: {}}}   # change me; a float valve",
                    self.u("5000 gal", "19 m3")
                );
            }
            let _ = writeln!(out, "    overflows to: {}", quoted(self.waste()));
        }
        if !answers.ponds.is_empty() {
            out.push_str(
                "\n# Ponds are simple and take much land. Open water is a drowning hazard: fence it.\nponds:\n",
            );
        }
        for (at, name) in answers.ponds.iter().enumerate() {
            let is_last = at + 1 == answers.ponds.len();
            let _ = writeln!(
                out,
                "  {}:\n    shape: {{length: {}, width: {}, depth: {}, side slope: 3 to 1, measured at: spill level}}   # change me\n    \
                 freeboard above spill: {}   # change me: from the spill's lip up to the lowest bank\n    \
                 lowest pump level: {}   # change me\n    seepage: {}   {TYPICAL}\n    at the start: {{level: {}}}   # change me",
                quoted(name),
                if is_last { self.u("220 ft", "67 m") } else { self.u("140 ft", "43 m") },
                if is_last { self.u("150 ft", "46 m") } else { self.u("50 ft", "15 m") },
                if is_last { self.u("9 ft", "2.7 m") } else { self.u("6 ft", "1.8 m") },
                self.u("1.5 ft", "0.5 m"),
                self.u("1.5 ft", "0.5 m"),
                self.u("0.04 in/day to 0.08 in/day", "1 mm/day to 2 mm/day"),
                self.u("5 ft", "1.5 m"),
            );
            if is_last && !self.supplies.is_empty() {
                let _ = writeln!(
                    out,
                    "    filled from: {{from: {}, up to: {}}}   # change me",
                    in_order(&self.supplies),
                    self.u("6 ft", "1.7 m")
                );
            }
            let to = answers.ponds.get(at + 1).or(answers.outfalls.first());
            let _ = writeln!(out, "    spills to: {}", to.map_or_else(|| "no outlet".to_owned(), |to| quoted(to)));
        }
    }

    /// Where water or dirt leaves for good.
    fn ends(&self, places: &str, out: &mut String) {
        let answers = self.answers;
        let mut ends = String::new();
        for name in &answers.outfalls {
            let _ = writeln!(
                ends,
                "  {}: {{kind: surface water, into: Name of the brook, looked at: every working day}}   # change me",
                quoted(name)
            );
        }
        if let Some(sewer) = &answers.sewer {
            let _ = writeln!(
                ends,
                "  {}: {{kind: sewer, takes at most: {}}}   # change me",
                quoted(sewer),
                self.u("60 gpm", "14 m3/h")
            );
        }
        if self.goes_nowhere(places) {
            let _ = writeln!(ends, "  {}: {{kind: land}}   # change me: where this water goes", quoted(&self.soaks));
        }
        for name in [&self.bin, &self.skip] {
            if places.contains(&format!(": {}", quoted(name))) {
                let _ = writeln!(ends, "  {}: {{kind: hauled away}}", quoted(name));
            }
        }
        if !ends.is_empty() {
            let _ = write!(out, "\n# Where water or dirt leaves for good.\ndischarge points:\n{ends}");
        }
    }

    /// Filters that are washed or whose pieces are changed.
    pub fn logged(&self) -> Vec<(&str, &'static str)> {
        let of = |(name, kind): &'a (String, String)| {
            let declared = FilterKind::ALL.iter().find(|declared| declared.words == kind.as_str())?;
            let washed = ["pressure screen", "shallow media bed", "deep media bed"].contains(&kind.as_str());
            let changed = declared.uses_up.is_some() && matches!(kind.as_str(), "bag" | "cartridge");
            (washed || changed).then_some((name.as_str(), if washed { "washes" } else { "changed" }))
        };
        self.answers.filters.iter().filter_map(of).collect()
    }
}

fn plain(name: &str) -> String {
    name.chars().filter(|c| !c.is_whitespace()).flat_map(char::to_lowercase).collect()
}

/// The lines of the first filter of a kind in the file of all kinds, without its name.
fn block(kind: &str) -> Vec<&'static str> {
    let lines: Vec<&str> = TO_COPY.lines().collect();
    let Some(at) = lines.iter().position(|line| line.trim() == format!("kind: {kind}")) else {
        return Vec::new();
    };
    lines
        .into_iter()
        .skip(at)
        .take_while(|line| !line.trim().is_empty())
        .filter(|line| !line.trim().starts_with('#'))
        .collect()
}
