//! The gauge's file.

use std::fmt::Write as _;

use super::days::{clock, iso};
use super::given::Site;

pub fn rain(site: &Site) -> String {
    let mut out = String::from("date,rain,unit\n");
    for reading in &site.rain {
        let day = iso(reading.to.div_euclid(1440));
        let at = clock(reading.to);
        let _ = writeln!(out, "{day} {at},{},mm", reading.depth.text());
    }
    out
}
