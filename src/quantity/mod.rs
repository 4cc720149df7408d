//! Typed quantities with exact US units: parse `38 gpm`, print with honest digits, named bounds.
