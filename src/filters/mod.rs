//! One file per kind of filter, one shared question.
