//! Daily series, readings that span days, gaps.
