//! Shape of a pond, the routing of a day, settling, sludge.
