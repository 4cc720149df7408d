//! Washes that clean nothing bear no verdict, washes that are cut bear one with its condition, and spent pieces are weighed
//! as they are typed.

#![cfg(test)]

mod rainy_copy;

use std::path::PathBuf;

use assert_cmd::Command;
use rainy_copy::rainy_copy;
use serde_json::Value;

/// The made-up site of the trains with a year's rain and proposals.
struct Folder {
    dir: PathBuf,
    _temporary: tempfile::TempDir,
}

impl Folder {
    fn new() -> Self {
        let names = ["facility.yaml", "rules.yaml", "prices.yaml", "stages.yaml"];
        let (temporary, dir) = rainy_copy("tests/trains_site", &names);
        Self { dir, _temporary: temporary }
    }

    fn write(&self, file: &str, text: &str) {
        std::fs::write(self.dir.join(file), text).unwrap();
    }

    fn change(&self, file: &str, was: &str, now: &str) {
        let text = std::fs::read_to_string(self.dir.join(file)).unwrap();
        assert!(text.contains(was), "{file}: {was}");
        self.write(file, &text.replacen(was, now, 1));
    }

    /// The existing site at its best, washing its beds with these lines.
    fn tuned(&self, lines: &str) {
        self.write("proposals/tuned.yaml", &format!("name: Tuned\ntuned: yes\nchange:\n  Beds:\n    {lines}\n"));
    }

    fn compared(&self, more: &[&str]) -> String {
        let mut command = Command::cargo_bin("bywash").unwrap();
        command.arg("compare").arg(&self.dir).args(more);
        if !more.contains(&"--draws") {
            command.args(["--draws", "20"]);
        }
        let out = command.output().unwrap();
        assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
        String::from_utf8(out.stdout).unwrap()
    }

    fn json(&self) -> Value {
        serde_json::from_str(&self.compared(&["--json"])).unwrap()
    }
}

fn option<'a>(all: &'a Value, name: &str) -> &'a Value {
    all["options"].as_array().unwrap().iter().find(|of| of["name"] == name).unwrap_or_else(|| panic!("{name}"))
}

/// Grains of 0.9 mm and 2 650 kg/m³ in water of 15 °C: Ga = 9 100, Re = √(33.7² + 0.0408·Ga) − 33.7 = 5.1, so 23 m/h (Wen and
/// Yu, by hand); a vessel of 0.9 m has 0.636 m², and 0.4 m of sand of 42 % voids hold 107 L there.
#[test]
fn a_wash_that_lifts_nothing_or_does_not_fill_the_bed_bears_no_verdict() {
    let folder = Folder::new();
    for (lines, figures) in [
        ("one wash: {rate: 3 m3/h, lasts: 30 min, each: vessel}", ["4.7 m/h", "23."]),
        ("one wash: {rate: 22 m3/h, lasts: 6 s, each: vessel}", ["36.7 L", "107 L"]),
    ] {
        folder.tuned(lines);
        let all = folder.json();
        let verdict = &option(&all, "Tuned")["verdict"];
        assert_eq!(verdict["verdict"], "none", "{verdict}");
        let why: Vec<&str> = verdict["why"].as_array().unwrap().iter().map(|why| why.as_str().unwrap()).collect();
        assert_eq!(why.len(), 1, "{why:?}");
        assert!(figures.iter().all(|figure| why[0].contains(figure)), "{why:?}");
    }
    // Nor does any, where the site itself washes so.
    folder.change("facility.yaml", "lasts: 3 min", "lasts: 6 s");
    folder.tuned("one wash: {rate: 22 m3/h, lasts: 2 min, each: vessel}");
    let all = folder.json();
    let why = option(&all, "Tuned")["verdict"]["why"].to_string();
    assert!(why.contains("as the site stands") && why.contains("36.7 L"), "{why}");
}

#[test]
fn a_wash_that_is_cut_saves_on_a_condition_unless_what_it_removes_is_typed() {
    let folder = Folder::new();
    folder.tuned("one wash: {rate: 20 m3/h to 24 m3/h, lasts: 2 min, each: vessel}");
    let all = folder.json();
    let of = option(&all, "Tuned");
    assert_eq!(of["verdict"]["verdict"], "saves", "{}", of["verdict"]);
    let condition =
        "a wash of Beds of 2 min still removes 100 % and the washes of Beds are as computed (nobody logged them)";
    assert_eq!(of["only_if_nobody_has_shown"], condition);
    let page = folder.dir.join("case.html");
    folder.compared(&["--page", page.to_str().unwrap()]);
    let words = std::fs::read_to_string(page).unwrap().split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains(&format!("Yes, if {condition}, which nobody has shown: it saves")));
    // The sliders' verdict has it as well.
    assert!(words.contains(&format!(",\"{condition}\",")));
    folder.tuned("one wash: {rate: 20 m3/h to 24 m3/h, lasts: 2 min, each: vessel}\n    one wash removes: 95 %");
    let rests = option(&folder.json(), "Tuned")["only_if_nobody_has_shown"].clone();
    assert_eq!(rests, "the washes of Beds are as computed (nobody logged them)");
}

/// What the site washes now is spared or cut: three months of a log show how often that is, and `check` asks for one where there is none.
#[test]
fn a_yes_rests_on_washes_that_hardly_anybody_logged_and_check_asks_for_a_log() {
    let folder = Folder::new();
    folder.tuned("one wash: {rate: 20 m3/h to 24 m3/h, lasts: 2 min, each: vessel}\n    one wash removes: 95 %");
    folder.write("proposals/own.yaml", &format!("name: Own\n{}{PUMPED}", beds_again("{after: 2 kg of solids}")));
    folder.change("facility.yaml", "rules: rules.yaml", "rules: rules.yaml\nrecords: records");
    std::fs::create_dir(folder.dir.join("records")).unwrap();
    let asked = |folder: &Folder| {
        let out = Command::cargo_bin("bywash").unwrap().arg("check").arg(&folder.dir).output().unwrap();
        let told = String::from_utf8(out.stdout).unwrap().split_whitespace().collect::<Vec<_>>().join(" ");
        told.matches("Beds: prices are on file and no washes").count()
    };
    let head = "date,place,what,parameter,value,unit,qualifier,paper,received,who,note\n";
    for (months, how) in [
        (0, Some("nobody logged them")),
        (1, Some("logged in 1 month alone")),
        (2, Some("logged in 2 months alone")),
        (3, None),
    ] {
        let days = (1..=months).flat_map(|month| (1..=28).map(move |day| (month, day)));
        let rows: String =
            days.map(|(month, day)| format!("2012-{month:02}-{day:02},Beds,washes,,1,,,,,,\n")).collect();
        folder.write("records/log.csv", &format!("{head}{rows}"));
        let all = folder.json();
        for name in ["Tuned", "Own"] {
            let rests = option(&all, name)["only_if_nobody_has_shown"].to_string();
            match how {
                Some(how) => {
                    assert!(rests.contains(&format!("the washes of Beds are as computed ({how})")), "{name}: {rests}")
                }
                None => assert!(!rests.contains("as computed"), "{name}: {rests}"),
            }
        }
        assert_eq!(asked(&folder), usize::from(months == 0), "{months}");
    }
    // Without prices there is no money to ask for.
    folder.write("records/log.csv", head);
    std::fs::remove_file(folder.dir.join("prices.yaml")).unwrap();
    assert_eq!(asked(&folder), 0);
}

/// At ten times as many washes, or as many as the site washes now, it saves nothing: nothing logged shows that so few are enough.
#[test]
fn washes_that_only_a_proposal_describes_put_its_yes_under_a_condition() {
    let folder = Folder::new();
    for (lines, wanted) in [
        ("washes: {every: 240 h}", true),
        ("washes: {after: 1.4 kg of solids}", true),
        ("handles at most: 400 m3/h", false),
    ] {
        folder.tuned(lines);
        let all = folder.json();
        let of = option(&all, "Tuned");
        let rests = of["only_if_nobody_has_shown"].to_string();
        assert_eq!(rests.contains("the washes of Beds are as the proposal says"), wanted, "{lines}: {rests}");
        assert_eq!(of["an_answer"] == "yes, if", wanted, "{lines}: {}", of["an_answer"]);
    }
}

#[test]
fn waste_without_its_water_is_told_as_dry_and_not_ranked_beside_wet() {
    let folder = Folder::new();
    let cartridges = "  Candles:\n    figures from: common practice, no source\n    lines:\n      kind: cartridge\n      \
        elements: 4\n      stops: {bigger than the opening: 90 %}\n      changed: {after: 1 kg of solids}\n      one change: \
        {lasts: 3 min}\n      spent media to: Skip\n    sizes: 20 um\n    pays once: {price: 800 EUR, lasts: 15 years}\n    \
        used up: {price: 15 EUR each, dry weight: 300 g, water when hauled: 60 %}\n    labour minutes: {a check: 1 min, \
        how often: once a day}\n    pump: {head: 2 m, efficiency: 50 %}\n";
    let text = std::fs::read_to_string(folder.dir.join("stages.yaml")).unwrap();
    folder.write("stages.yaml", &format!("{}\n{cartridges}", text.trim_end()));
    let held = |all: &Value| all["held_by"].as_array().unwrap().iter().any(|key| key == "wet_waste_kg");
    let mixed: Value = serde_json::from_str(&folder.compared(&["--search", "--json"])).unwrap();
    assert!(!held(&mixed), "{}", mixed["held_by"]);
    folder.change(
        "stages.yaml",
        "used up: {price: 5.00 EUR each}",
        "used up: {price: 5.00 EUR each, water when hauled: 60 %}",
    );
    let wet: Value = serde_json::from_str(&folder.compared(&["--search", "--json"])).unwrap();
    assert!(held(&wet), "{}", wet["held_by"]);
}

/// A cloth that drips back is hauled without its water unless `water when hauled` says how wet it goes: then it counts.
#[test]
fn a_cloth_that_drips_is_dry_until_its_water_is_typed() {
    let folder = Folder::new();
    folder.tuned("washes: {after: 1.4 kg of solids}");
    folder.write(
        "proposals/cloth.yaml",
        "name: Cloth\nreplace:\n  Beds:\n    by: Fleece\n    kind: moving media\n    opening: 50 um\n    stops: {100 um: 95 %, 50 um: 80 %, \
         30 um: 50 %, 10 um: 15 %, 5 um: 5 %}\n    roll: {length: 300 m, width: 1 m, dry weight: 30 g/m2, holds: 80 g/m2, at \
         least: 1 m/day, wet weight: 5 times dry}\n    when it runs out: passes unfiltered\n    drip to: Drain\n    takes from: \
         Town\n    spent media to: Skip\nused up:\n  Fleece: {price: 100 EUR each}\npumps:\n  P: {water to: Fleece, head: 30 m, \
         efficiency: 50 %}\n",
    );
    let of = |all: &Value| {
        let cloth = option(all, "Cloth");
        (cloth["a_year"]["wet_waste_kg"]["median"].as_f64().unwrap(), cloth["waste_counted_dry"].to_string())
    };
    let (dry, named) = of(&folder.json());
    assert_eq!(named, "[\"Fleece\"]");
    folder.change("proposals/cloth.yaml", "price: 100 EUR each", "price: 100 EUR each, water when hauled: 60 %");
    let (wet, named) = of(&folder.json());
    assert_eq!(named, "[]");
    // 60 % of water: two and a half times as heavy as dry.
    assert!((wet / dry - 2.5).abs() < 0.01, "{dry} {wet}");
}

/// A cloth that runs out lets water past it: the year's mean of coarse solids may hide it, the hours do not. One that lasts
/// from visit to visit does not.
#[test]
fn water_that_passes_a_cloth_unfiltered_is_not_served_alike() {
    let folder = Folder::new();
    folder.tuned("washes: {after: 1.4 kg of solids}");
    folder.change("prices.yaml", "coarser solids alike within: 2 mg/L", "coarser solids alike within: 50 mg/L");
    let cloth = |length: &str| {
        format!(
            "name: Cloth\nreplace:\n  Beds:\n    by: Fleece\n    kind: moving media\n    opening: 20 um\n    stops: {{100 um: 99 %, 50 um: 99 %, \
             20 um: 95 %, 10 um: 60 %, 5 um: 30 %}}\n    roll: {{length: {length}, width: 1 m, dry weight: 30 g/m2, holds: 80 g/m2, at \
             least: 1 m/day, wet weight: 5 times dry}}\n    when it runs out: passes unfiltered\n    drip to: Drain\n    takes from: \
             Town\n    spent media to: Skip\nused up:\n  Fleece: {{price: 100 EUR each}}\npumps:\n  P: {{water to: Fleece, head: 30 m, \
             efficiency: 50 %}}\n"
        )
    };
    let of = |length: &str| {
        folder.write("proposals/cloth.yaml", &cloth(length));
        let all = folder.json();
        option(&all, "Cloth")["verdict"].to_string()
    };
    let (short, long) = (of("20 m"), of("5000 m"));
    assert!(
        short.contains("Fleece ran out, and water passed it unfiltered") && !short.contains("coarser than"),
        "{short}"
    );
    assert!(!long.contains("unfiltered"), "{long}");
}

/// The lines of the beds as they stand, under another name and with another cadence.
fn beds_again(cadence: &str) -> String {
    format!(
        "replace:\n  Beds:\n    by: New beds\n    kind: shallow media bed\n    vessels: 2\n    diameter: 0.9 m\n    media: [{{kind: silica \
         sand, depth: 40 cm, grains: 0.9 mm, voids: 42 %}}]\n    takes from: Town\n    washes: {cadence}\n    one wash: {{rate: \
         20 m3/h to 24 m3/h, lasts: 3 min, each: vessel}}\n    washed with: its own filtered water\n    wash water to: Drain\n    \
         one wash removes: 100 %\n    stops: {{100 um: 95 %, 50 um: 80 %, 30 um: 50 %, 10 um: 15 %, 5 um: 5 %}}\n    stands still \
         for: 0 min\n"
    )
}

const PUMPED: &str = "pumps:\n  New pump: {water to: New beds, head: 30 m, efficiency: 50 %}\nlabour minutes:\n  New beds: {a check: 5 min, how often: once a day}\n";

#[test]
fn the_same_trigger_under_after_and_or_after_is_drawn_alike() {
    let folder = Folder::new();
    let of = |first: &str, second: &str| format!("{{{first}every: 24 h, {second}after: 0.7 kg to 1.4 kg of solids}}");
    folder.change("facility.yaml", "{after: 1.2 kg of solids}", &of("", "or "));
    folder.tuned("stands still for: 0 min");
    folder.write("proposals/again.yaml", &format!("name: Again\n{}{PUMPED}", beds_again(&of("or ", ""))));
    let all = folder.json();
    assert_eq!(option(&all, "Again")["verdict"]["verdict"], "same", "{}", option(&all, "Again")["verdict"]);
}

/// A screen before the beds: one pump with both on its line lifts their water once, as one at the screen alone does.
#[test]
fn a_pump_with_two_places_in_a_row_lifts_their_water_once() {
    let folder = Folder::new();
    folder.change(
        "facility.yaml",
        "filters:\n",
        "filters:\n  Screen:\n    kind: pressure screen\n    opening: 200 um\n    in line: 1\n    cleaned: by itself\n    stops: {bigger than the \
         opening: 90 %}\n    washes: {every: 24 h}\n    one wash: {rate: 10 m3/h, lasts: 20 s, each: body}\n    washed with: its own filtered \
         water\n    wash water to: Drain\n    takes from: Town\n",
    );
    folder.change("facility.yaml", "takes from: Town\n    washes: {after", "takes from: Screen\n    washes: {after");
    folder.tuned("stands still for: 0 min");
    let energy =
        |folder: &Folder| option(&folder.json(), "As it stands")["a_year"]["energy_kwh"]["median"].as_f64().unwrap();
    folder.change("prices.yaml", "water to: Beds, head: 30 m", "water to: [Screen, Beds], head: 30 m");
    let both = energy(&folder);
    let out = Command::cargo_bin("bywash").unwrap().arg("check").arg(&folder.dir).output().unwrap();
    let told = String::from_utf8(out.stdout).unwrap().split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(told.contains("Booster lifts the water to Screen and Beds by 30 m at 50 % of efficiency"), "{told}");
    assert!(told.contains("lifted once") && told.contains("labour: 20 EUR per h."), "{told}");
    folder.change("prices.yaml", "water to: [Screen, Beds]", "water to: Screen");
    folder.change("prices.yaml", "pumps:\n", "pumps:\n  None: {water to: Beds, head: 0 m, efficiency: 50 %}\n");
    let alone = energy(&folder);
    // 7 300 m³ and the wash water by 30 m at half: 0.163 kWh/m³ (ρ·g·H/η), by hand.
    assert!(alone > 7_300.0 * 0.163 && (both / alone - 1.0).abs() < 1e-6, "{both} {alone}");
}

/// One wash in three days is logged, and the middle of the range gives more: break-evens stand where the log puts the draws.
#[test]
fn break_evens_of_washes_stand_at_the_log_and_not_for_what_washes_by_itself() {
    let folder = Folder::new();
    folder.change("facility.yaml", "rules: rules.yaml", "rules: rules.yaml\nrecords: records");
    folder.change("facility.yaml", "{after: 1.2 kg of solids}", "{by: log, or after: 0.5 kg to 3 kg of solids}");
    let rain = std::fs::read_to_string(folder.dir.join("rain.csv")).unwrap();
    let mut log = String::from("date,place,what,parameter,value,unit,qualifier,paper,received,who,note\n");
    for (at, line) in rain.lines().skip(1).enumerate() {
        let n = u32::from(at % 3 == 0);
        log.push_str(&format!("{},Beds,washes,,{n},,,,,,\n", line.split(',').next().unwrap()));
    }
    std::fs::create_dir(folder.dir.join("records")).unwrap();
    folder.write("records/log.csv", &log);
    folder.tuned("one wash: {rate: 20 m3/h to 24 m3/h, lasts: 2 min, each: vessel}");
    folder.write("proposals/own.yaml", &format!("name: Own\n{}{PUMPED}", beds_again("{after: 2 kg of solids}")));
    let all: Value = serde_json::from_str(&folder.compared(&["--draws", "200", "--json"])).unwrap();
    let washes = |name: &str| {
        let evens = option(&all, name)["break_evens"].as_array().unwrap();
        evens.iter().find(|even| even["what"] == "Washes of Beds").cloned()
    };
    let typed = washes("Tuned").unwrap()["typed"].as_str().unwrap().to_owned();
    let at: f64 = typed.trim_end_matches(" a year computed").parse().unwrap();
    assert!((at / 122.0 - 1.0).abs() < 0.1, "{typed}");
    assert!(washes("Own").is_none());
}
