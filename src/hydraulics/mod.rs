//! Head loss of a bed, fluidisation and expansion, weirs.
