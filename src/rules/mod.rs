//! What may leave, when, and how it is shown: windows, decision, evidence, duties, notices.
