//! A facility as it stands against proposals: ranges and money.
