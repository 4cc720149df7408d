//! Method and source records shared by doc comments, `explain` and the appendix of the report.
