//! Plan, day step, ledger, residual, trace.
