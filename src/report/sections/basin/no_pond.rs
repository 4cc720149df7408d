//! What the basin document says when no pond on the plot does what is asked.

use super::*;

pub(super) fn no_pond(case: &BasinCase, impossible: &Impossible, doc: &mut Document) {
    let units = case.units();
    doc.heading(2, "How big");
    doc.paragraph(
        Text::new()
            .bold("No pond on this plot does all its duties.")
            .plain(format!(
                " {} shapes were held against them.",
                number(impossible.shapes as f64, 0)
            )),
    );
    doc.heading(2, "What stands in the way");
    let hopeless: Vec<&(Check, Basin)> = impossible
        .best
        .iter()
        .filter(|(check, _)| !check.is_met())
        .collect();
    if hopeless.is_empty() {
        doc.paragraph(
            "Each duty can be done by some shape, but no shape does all of them at once: what one needs takes the room of another.",
        );
    }
    for (check, basin) in &hopeless {
        doc.paragraph(
            Text::new()
                .bold(format!("{}: ", first_capital(check.duty.words())))
                .plain(short_by(units, check))
                .plain(format!(
                    " That is with the best shape for it, {}.",
                    sizes(units, basin)
                )),
        );
    }
    let mut table = Table::new(vec![
        Column::words("Duty"),
        Column::words("Asked").right(),
        Column::words("The best any shape gives").right(),
        Column::words("Comes out"),
    ])
    .caption("Each duty by itself");
    for (check, _) in &impossible.best {
        table.traced(
            vec![
                Cell::words(first_capital(check.duty.words())),
                Cell::words(asked(units, check)),
                Cell::known(figure(units, check.measure, check.has), Basis::Computed),
                Cell::known(
                    if check.is_met() {
                        "can be done"
                    } else {
                        "cannot be done"
                    },
                    Basis::Computed,
                ),
            ],
            place_of(case, check.duty),
        );
    }
    doc.table(table);
    if let Some((basin, checks)) = &impossible.nearest {
        doc.heading(2, "The shape that comes nearest");
        let fails: Vec<String> = checks
            .iter()
            .filter(|check| !check.is_met())
            .map(|check| format!("{}: {}", check.duty.words(), short_by(units, check)))
            .collect();
        doc.paragraph(format!(
            "{}. {}",
            sizes(units, basin),
            first_capital(&fails.join(" "))
        ));
    }
    doc.heading(2, "What would help");
    doc.list(vec![
        Text::from("A larger or deeper plot, steeper sides where the ground allows them, or a lower freeboard."),
        Text::from("Less to hold: fewer days, a smaller storm, more frequent clean-outs, a lower level before the storm."),
        Text::from("Less to come: wash water sent elsewhere, a flow evened out upstream, cells in series for the particle."),
    ]);
    who_decides(doc);
}

/// `needs 1 200 m³ and has 900 m³: 300 m³ short.`
pub(super) fn short_by(units: Units, check: &Check) -> String {
    let asked = figure(units, check.measure, check.asked);
    let has = figure(units, check.measure, check.has);
    match check.measure {
        Measure::Volume => format!(
            "room for {asked} is asked, {has} is there: {} short.",
            units.m3(check.asked - check.has)
        ),
        Measure::Share => format!("at least {asked} is asked, {has} settles."),
        Measure::TimesAYear | Measure::DaysAYear | Measure::Days | Measure::Speed => {
            format!("at most {asked} is asked, it comes to {has}.")
        }
    }
}

pub(super) fn who_decides(doc: &mut Document) {
    doc.paragraph(
        Text::new().bold("Who decides. ").plain("This is the holder's own estimate, not a design for construction, a permit decision or legal advice. Ground, banks, \
         spillway, groundwater and who lives below were not looked at. Do not dig from it: a licensed engineer, the \
         permitting authority and local codes decide."),
    );
}
