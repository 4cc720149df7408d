//! Words of the trade that the report uses.

/// A term and what it means; terms in alphabetical order.
pub const TERMS: &[(&str, &str)] = &[
    ("backwash", "reversed flow that lifts and cleans a bed or a screen"),
    ("basis", "how a figure is known: metered, sampled, computed or assumed"),
    ("bed expansion", "rise of a bed's depth during a wash, as a share"),
    ("bypass", "a stream led round a part of the treatment"),
    ("curve number", "a tabulated index of how much of a storm runs off"),
    ("daily discharge", "the total mass of a day, or the average of other units over it"),
    ("dirt-holding capacity", "dry solids a bag or cartridge holds when it is to be changed"),
    ("drain-down", "water lost when a housing is emptied"),
    ("draw", "one run of the ledger with each assumed value taken by chance from its typed range"),
    ("exceedance", "a result beyond its limit"),
    ("filter run", "time or volume between two washes"),
    ("flux", "flow over the active area of a filter"),
    ("freeboard", "height of the bank top above the water"),
    ("grab sample", "one sample taken within about a quarter of an hour"),
    ("ledger", "one entry for each movement of water and solids from one place to another, each day"),
    ("look", "somebody went to an outfall and wrote down whether water ran"),
    ("monthly average", "the mean of the daily discharges measured in a month, unless the permit says otherwise"),
    ("non-detect", "a result below what the laboratory can report"),
    ("outfall", "a permitted discharge point"),
    ("overflow rate", "flow over the area of a pond's surface; slower particles than this pass"),
    (
        "residual",
        "what is left over when every entry of a place is summed; zero shows that the sums are right, not that the meters are",
    ),
    ("return", "applied water that comes back"),
    ("ripening", "poorer filtrate for a while after each wash"),
    ("rollover", "a register that passes its last figure and starts again at nought"),
    ("settleable solids", "volume that settles in a cone in an hour"),
    ("span", "the days between two readings of a meter"),
    ("spill", "water over a spill level"),
    ("total suspended solids", "dry mass that a standard filter holds back, TSS"),
    ("trap efficiency", "share of the incoming solids that a pond keeps"),
    ("unaccounted", "what a meter or a level shows against the balance; it is never folded into losses"),
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn terms_stand_in_alphabetical_order_once_each() {
        assert!(TERMS.windows(2).all(|pair| pair[0].0 < pair[1].0));
    }
}
