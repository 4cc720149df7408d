//! Sheets and slips become one timeline; repairs are listed.
