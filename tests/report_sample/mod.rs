//! A document with every block in it. The content is invented.

use bywash::page::document::{
    AccountLine, Basis, Carries, Cell, Chart, Column, Cue, Diagram, DiagramPlace, Document, Hue, Mark, OutcomeForm,
    OutcomeRow, OutcomeTable, OutsideName, Panel, Series, Side, Sign, Stretch, Strip, Table, Text, WaterAccount, Way,
};
use chrono::NaiveDate;

fn day(year: i32, month: u32, day: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(year, month, day).unwrap()
}

/// The sample.
pub fn sample() -> Document {
    let mut doc = Document::new("Permit-year record", "Quillmere Growers", "1 Nov 2024 to 31 Oct 2025");
    doc.digest = "0f3a9c1e77aa".to_owned();
    doc.dated = Some(day(2025, 11, 25));
    doc.permit_line("Permit", "LDW-0417, Lower Dorrel Water Authority");
    doc.permit_line("Rules", "rules.yaml, typed by D. Tarrowen 12 Nov 2025. As of 25 Nov 2025.");
    doc.paragraph(
        "10 limits: 3 met, 1 exceeded, 3 not shown, 1 no discharge, 1 predicted within, 1 predicted outside.",
    );
    doc.outcomes(outcomes());
    doc.heading(2, "What is not shown, and what would show it");
    doc.definitions([
        ("Settleable solids", "April 2025 had a discharge (2 Apr) and no result on file. Ask the lab for the slip."),
        ("Dry season", "12–13 Aug: the gauge read 1.4 in, then 1.5 in, at 7 am. The most rain in any 24 h was somewhere from 1.5 to 2.9 in; the permit asks for over 2.4. An hourly record from a station nearby would settle it."),
    ]);
    doc.heading(2, "What the permit asks us to do");
    doc.definitions([
        ("Overdue", "TSS, March: both slips were in hand by 24 Mar 2025. Call the Board; do not wait for this report."),
        ("By 28 Dec", "Monthly report for November 2025."),
    ]);
    doc.water(water());
    doc.page_break();
    doc.heading(2, "The facility");
    doc.traced(
        Text::new()
            .plain("The train runs from the ")
            .bold("return pit")
            .plain(" to the pond. Wash water was ")
            .figure("1.82 million gal", Basis::Computed)
            .plain(" with ")
            .figure("45 %", Basis::Assumed)
            .plain(" of it used again; see ")
            .link("Tables of every kind", "Tables of every kind")
            .plain("."),
        "method 7; entry 1\u{202f}208",
    );
    doc.diagram(
        diagram(),
        "Water runs from the well and the return pit through a screen, a drum and a media bed to the mixing tank and the benches.",
        "The facility as it stands. Figures are for the permit year.",
    );
    doc.heading(2, "Rain and discharge");
    doc.chart(
        year_chart(),
        "Rain by day, discharge by day, and pond level with its spill level.",
        "Rain, discharge and pond level.",
    );
    doc.heading(3, "By kind");
    doc.chart(class_chart(), "Wash water by filter, metered and computed.", "Wash water by filter.");
    doc.heading(2, "Tables of every kind");
    doc.table(small_table());
    doc.table(long_table(60));
    doc.table(wide_table());
    doc.table(
        Table::new(vec![Column::words("Nothing"), Column::figures("At all", "gal")]).caption("A table with no rows"),
    );
    doc.heading(3, "Lists");
    doc.list(vec!["A point.".into(), Text::from("A longer point that goes on for more than a line so that the hanging of the second line below the first can be seen on the page, as it should.")]);
    doc.numbered(vec!["First.".into(), "Second.".into()]);
    doc.caution(
        "Cautions",
        vec![
            "This is an estimate from the user's records. It is not a monitoring report, engineering design, legal advice or a permit decision.".into(),
            "Open water drowns. Sludge is soft. Tanks are confined spaces.".into(),
        ],
    );
    doc.signature(vec!["Signed, date".into(), "Seen by, date".into()]);
    doc
}

fn strip(limit: f64, worst: f64, measured: bool) -> Option<Strip> {
    Some(Strip { limit, worst, low: None, high: None, is_minimum: false, measured })
}

pub fn outcomes() -> OutcomeTable {
    let mut rows = Vec::new();
    let mut row = OutcomeRow::new("TSS, month average", OutcomeForm::Exceeded, "30 mg/L");
    row.worst = "38 mg/L".into();
    row.basis = Some(Basis::Sampled);
    row.margin = "8 mg/L over".into();
    row.strip = strip(30.0, 38.0, true);
    row.when = "Mar 2025".into();
    row.how_many = "2 samples".into();
    row.anchor = Some("Tables of every kind".into());
    rows.push(row.clone());
    row.anchor = None;
    row.limit = "Oxygen, least".into();
    row.outcome = OutcomeForm::BelowMinimum;
    row.permit_says = "at least 5 mg/L".into();
    row.worst = "3.9 mg/L".into();
    row.margin = "1.1 mg/L under".into();
    row.strip =
        Some(Strip { limit: 5.0, worst: 3.9, low: Some(3.6), high: Some(4.4), is_minimum: true, measured: true });
    rows.push(row.clone());
    row.limit = "pH, every reading".into();
    row.outcome = OutcomeForm::OutsideRange;
    row.permit_says = "6.0–9.0".into();
    row.worst = "9.4".into();
    row.margin = "0.4 over".into();
    row.strip = strip(9.0, 9.4, true);
    rows.push(row.clone());
    row.limit = "Settleable solids, any day".into();
    row.outcome = OutcomeForm::NotShown;
    row.permit_says = "0.2 mL/L".into();
    row.worst = "below 0.1".into();
    row.margin = String::new();
    row.strip = None;
    row.how_many = "5 of 6 months".into();
    rows.push(row.clone());
    row.limit = "Outfall flow, any day".into();
    row.outcome = OutcomeForm::PredictedWithin;
    row.permit_says = "250\u{202f}000 gal".into();
    row.worst = "181\u{202f}000 gal (140\u{202f}000 to 230\u{202f}000)".into();
    row.basis = Some(Basis::Computed);
    row.margin = "69\u{202f}000 gal under".into();
    row.strip = Some(Strip {
        limit: 250e3,
        worst: 181e3,
        low: Some(140e3),
        high: Some(230e3),
        is_minimum: false,
        measured: false,
    });
    row.how_many = "no meter".into();
    rows.push(row.clone());
    row.limit = "Total phosphorus, year".into();
    row.outcome = OutcomeForm::PredictedOutside;
    row.worst = "1\u{202f}420 kg".into();
    row.permit_says = "200 kg".into();
    row.margin = "1\u{202f}220 kg over".into();
    row.strip = strip(200.0, 1420.0, false);
    rows.push(row.clone());
    row.limit = "Nitrate, rolling 30 days".into();
    row.outcome = OutcomeForm::Undecided;
    row.worst = "9.8 mg/L".into();
    row.permit_says = "10 mg/L".into();
    row.margin = "31 % of draws over".into();
    row.strip =
        Some(Strip { limit: 10.0, worst: 9.8, low: Some(7.0), high: Some(12.9), is_minimum: false, measured: false });
    rows.push(row.clone());
    row.basis = Some(Basis::Metered);
    row.limit = "Wash water, any day".into();
    row.outcome = OutcomeForm::Met;
    row.permit_says = "16\u{202f}000 gal".into();
    row.worst = "15\u{202f}040 gal".into();
    row.margin = "960 gal under".into();
    row.strip = strip(16000.0, 15040.0, true);
    row.when = "11–14 Jul".into();
    row.how_many = "156 spans".into();
    rows.push(row.clone());
    let mut plain = OutcomeRow::new("Dry-season discharge", OutcomeForm::NoDischarge, "none (a)");
    plain.worst = "no flow seen".into();
    rows.push(plain);
    rows.push(OutcomeRow::new("Copper, quarter", OutcomeForm::NotInForce, "0.01 mg/L"));
    OutcomeTable {
        more: None,
        caption: Some("The permit's limits and what our records show".into()),
        rows,
        notes: vec![
            "(a) unless rain is over 2.4 in in 24 h and the pond was below its 7-ft mark beforehand.".into(),
            "(b) M3 is read Mon, Wed, Fri. The largest total between two readings is under the limit for one day."
                .into(),
            "(c) Outfall 1 has no meter. The flow is worked out from pond level, rain and area.".into(),
        ],
    }
}

fn water() -> WaterAccount {
    WaterAccount {
        caption: Some("The year's water".into()),
        unit: "million US gallons".into(),
        digits: 2,
        came_in: vec![
            AccountLine::new("Well", 14.62, Basis::Metered),
            AccountLine::new("Town water", 0.41, Basis::Metered),
            AccountLine::new("Rain, on 12.8 acre", 14.35, Basis::Computed),
        ],
        went_out: vec![
            AccountLine::new("Taken up by crops and dried off beds", 19.10, Basis::Computed),
            AccountLine::new("Soaked into the yard", 4.85, Basis::Assumed),
            AccountLine::new("Evaporated from ponds", 1.17, Basis::Assumed),
            AccountLine::new("Outfall 1, 11 days", 1.02, Basis::Computed),
            AccountLine::new("Ponds and tanks fuller at the end", 0.35, Basis::Metered),
            AccountLine::unaccounted("Unaccounted (7 % of what came in)", 2.08),
        ],
        total_in: 29.38,
        total_out: 29.38,
        residual: Some("Every entry balances: largest residual 0.0 gal.".into()),
        notes: vec!["That shows the sums are right; only the unaccounted line shows how well the meters and our assumptions agree.".into()],
        brief: String::new(),
    }
}

pub fn diagram() -> Diagram {
    let place = DiagramPlace::new;
    let way = Way::new;
    Diagram {
        places: vec![
            place("tank", "Return pit").cue(Cue::Store).figure("8.4 Mgal", Basis::Metered),
            place("vibrating screen", "Screen 1").cue(Cue::Filter).figure("0.3 Mgal wash", Basis::Computed),
            place("microscreen drum", "Drum").cue(Cue::Filter).figure("1.1 Mgal wash", Basis::Metered),
            place("deep media bed", "Bed A").cue(Cue::Filter).figure("0.4 Mgal wash", Basis::Assumed),
            place("tank", "Mixing tank").cue(Cue::Store).figure("19.9 Mgal", Basis::Metered),
            place("flood floor", "House 1 to 4").figure("12.0 Mgal", Basis::Computed),
            place("drip", "House 5, the long one by the road").figure("7.1 Mgal", Basis::Computed),
            place("pond", "Settling pond").cue(Cue::Store).figure("2.0 Mgal", Basis::Computed),
            place("pond", "Storage pond")
                .cue(Cue::Store)
                .figure("14 Mgal", Basis::Metered)
                .mark(Sign::Up, "evaporated", "1.2", Basis::Assumed)
                .mark(Sign::Down, "seeped away", "0.8", Basis::Assumed),
            place("catchment, 12.8 acre", "Roofs and yard").mark(Sign::Rain, "rain", "14.4", Basis::Computed),
        ],
        outside: vec![
            OutsideName::new("Well", Side::Left),
            OutsideName::new("Town water", Side::Left),
            OutsideName::new("Outfall 1, Dorrel Brook", Side::Right),
            OutsideName::new("Bin", Side::Right),
        ],
        ways: vec![
            way("Well", "Mixing tank").drawn().volume(14.6).figure("14.6", Basis::Metered),
            way("Town water", "Mixing tank").drawn().volume(0.4).figure("0.4", Basis::Metered),
            way("Return pit", "Screen 1").drawn().volume(8.4).figure("8.4", Basis::Metered),
            way("Screen 1", "Drum"),
            way("Drum", "Bed A"),
            way("Bed A", "Mixing tank").volume(7.9).figure("7.9", Basis::Computed),
            way("Mixing tank", "House 1 to 4").drawn().volume(12.0).figure("12.0", Basis::Computed),
            way("Mixing tank", "House 5, the long one by the road").drawn().volume(7.1).figure("7.1", Basis::Computed),
            way("House 1 to 4", "Return pit").volume(5.9).figure("5.9", Basis::Computed).word("return"),
            way("House 5, the long one by the road", "Settling pond"),
            way("Drum", "Settling pond").carries(Carries::WashWater).word("wash water"),
            way("Bed A", "Settling pond").carries(Carries::WashWater),
            way("Screen 1", "Bin").carries(Carries::Solids).word("solids"),
            way("Settling pond", "Storage pond").carries(Carries::Spill),
            way("Roofs and yard", "Storage pond").volume(9.2).figure("9.2", Basis::Computed),
            way("Storage pond", "Return pit").drawn(),
            way("Storage pond", "Outfall 1, Dorrel Brook")
                .carries(Carries::Spill)
                .word("spill")
                .volume(1.0)
                .figure("1.0", Basis::Computed),
        ],
        unit: "Mgal".into(),
        rows: Vec::new(),
    }
}

/// Numbers that look like weather; the same on each run.
fn noise(i: usize) -> f64 {
    let mut x = (i as u64).wrapping_add(0x9E37_79B9_7F4A_7C15);
    for factor in [0xBF58_476D_1CE4_E5B9_u64, 0x94D0_49BB_1331_11EB] {
        x = (x ^ (x >> 30)).wrapping_mul(factor);
    }
    ((x ^ (x >> 31)) % 1000) as f64 / 1000.0
}

pub fn year_chart() -> Chart {
    let rain: Vec<Option<f64>> =
        (0..365).map(|i| if noise(i) > 0.75 { Some(noise(i + 400) * 1.8) } else { Some(0.0) }).collect();
    let discharge: Vec<Option<f64>> =
        (0..365).map(|i| if (130..141).contains(&i) { Some(noise(i) * 200.0) } else { Some(0.0) }).collect();
    let level: Vec<Option<f64>> =
        (0..365)
            .map(|i| {
                if (220..240).contains(&i) { None } else { Some(6.0 + 2.0 * (i as f64 / 58.0).sin() + noise(i) * 0.3) }
            })
            .collect();
    let tss: Vec<Option<f64>> = (0..365).map(|i| (i % 31 == 5).then(|| 12.0 + 30.0 * noise(i))).collect();
    Chart::over_days(day(2024, 11, 1), 365)
        .season("rainy season", 0, 150)
        .season("dry season", 212, 333)
        .panel(Panel::new("Rain", "in/day").series(Series::new("gauge", Mark::Bars, Hue::Pool, Basis::Metered, rain)))
        .panel(
            Panel::new("Discharge at Outfall 1", "thousand gal/day")
                .series(Series::new("worked out", Mark::Bars, Hue::Damson, Basis::Computed, discharge))
                .limit(250.0, "at most 250 thousand gal, limit 2"),
        )
        .panel(
            Panel::new("Storage pond level", "ft")
                .fitted()
                .series(Series::new("staff gauge", Mark::Line, Hue::Loam, Basis::Metered, level))
                .limit(9.0, "spill level")
                .limit(8.0, "freeboard 1 ft, limit 5")
                .missing(vec![Stretch { first: 220, last: 239 }, Stretch { first: 300, last: 301 }]),
        )
        .panel(
            Panel::new("TSS at Outfall 1", "mg/L")
                .series(Series::new("grab samples", Mark::Points, Hue::Clay, Basis::Sampled, tss))
                .limit(30.0, "at most 30 mg/L, limit 4"),
        )
}

pub fn class_chart() -> Chart {
    let names = ["Screen 1", "Drum", "Bed A", "Bed B", "Bag house", "Cartridges"];
    let values = |k: usize| -> Vec<Option<f64>> { (0..6).map(|i| Some(20.0 + 80.0 * noise(i * 7 + k))).collect() };
    let mut chart = Chart::over_classes(names.iter().map(|n| (*n).to_owned()).collect());
    let mut panel = Panel::new("Wash water", "thousand gal");
    for (k, hue) in Hue::ALL.into_iter().enumerate() {
        panel = panel.series(Series::new(
            format!("part {}", k + 1),
            Mark::Stacked,
            hue,
            if k == 4 { Basis::Assumed } else { Basis::Computed },
            values(k),
        ));
    }
    chart = chart.panel(panel);
    chart.panel(
        Panel::new("Washes", "a day")
            .series(Series::new("logged", Mark::Bars, Hue::Loam, Basis::Metered, values(8)))
            .series(Series::new("computed", Mark::Bars, Hue::Clay, Basis::Computed, values(9))),
    )
}

fn small_table() -> Table {
    let mut table = Table::new(vec![
        Column::words("Month"),
        Column::figures("Rain", "in"),
        Column::figures("Wash water", "gal"),
        Column::figures("Change in store", "gal"),
    ])
    .caption("Season by month");
    table.group("Rainy season");
    for (i, month) in ["November", "December", "January", "February", "March", "April"].iter().enumerate() {
        table.traced(
            vec![
                (*month).into(),
                Cell::figure(3.25 + i as f64, 2, Basis::Metered),
                Cell::figure(12040.0 * (i as f64 + 1.0), 0, Basis::Computed),
                Cell::figure(-812.5 * i as f64, 1, if i == 2 { Basis::Assumed } else { Basis::Computed }),
            ],
            format!("meters.csv {}", 400 + i),
        );
    }
    table.sum(vec![
        "Season".into(),
        Cell::figure(34.5, 2, Basis::Metered),
        Cell::figure(252840.0, 0, Basis::Computed),
        Cell::figure(-12187.5, 1, Basis::Computed),
    ]);
    table.group("Dry season");
    table.row(vec![
        "May".into(),
        Cell::known("below 0.1", Basis::Sampled),
        Cell::nothing(),
        Cell::figure(3.0, 1, Basis::Computed).marked("a"),
    ]);
    table.closed(
        vec![
            "Year".into(),
            Cell::figure(34.5, 2, Basis::Metered),
            Cell::figure(252840.0, 0, Basis::Computed),
            Cell::figure(-12184.5, 1, Basis::Computed),
        ],
        "residual 0.0 gal",
    );
    table.note("(a) The level was read a day late.");
    table
}

/// A table that runs over several pages.
pub fn long_table(rows: usize) -> Table {
    let mut table =
        Table::new(vec![Column::words("Day"), Column::words("What happened"), Column::figures("Volume", "gal")])
            .caption("Entries");
    for i in 0..rows {
        table.traced(
            vec![
                format!("{} Jan", i + 1).into(),
                if i % 9 == 4 { "The drum stood still while the bearing was changed; what came was sent round it to the pond, and noted".into() } else { "Wash".into() },
                Cell::figure(noise(i) * 1000.0, 1, Basis::Metered),
            ],
            format!("washes.csv {}", i + 2),
        );
    }
    table
}

fn wide_table() -> Table {
    let mut table = Table::new(vec![
        Column::words("Limit"),
        Column::words("The permit's own words"),
        Column::figures("Limit", "mg/L"),
        Column::figures("Worst", "mg/L"),
        Column::words("File"),
        Column::words("SHA-256"),
    ])
    .caption("A wide table, with words too long to fit")
    .wide();
    for i in 0..3 {
        table.traced(
            vec![
                format!("Limit {i}").into(),
                "The monthly average of total suspended solids shall not exceed thirty milligrams per litre at Outfall 001.".into(),
                Cell::number(30.0, 0),
                Cell::figure(12.25 * f64::from(i + 1), 2, Basis::Sampled),
                "records/2025/laboratory_results_final_version.csv".into(),
                "3f786850e387550fdab836ed7e6dc881de23001b0f3a9c1e77aa3f786850e387".into(),
            ],
            "rules.yaml 41",
        );
    }
    table
}
