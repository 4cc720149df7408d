//! Why a text could not be read as the value that was expected.

/// A text that is not the value expected: what is wrong, and what to write.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{message}")]
pub struct Misread {
    /// What is wrong, as a sentence without a full stop.
    pub message: String,
    /// What to write instead.
    pub hint: Option<String>,
}

impl Misread {
    /// A refusal without a hint.
    pub fn new(message: impl Into<String>) -> Self {
        Self { message: message.into(), hint: None }
    }

    /// The same refusal with what to write instead.
    pub fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = Some(hint.into());
        self
    }
}
