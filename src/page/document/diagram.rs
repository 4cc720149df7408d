//! The diagram of the facility: places, ways, and the names outside.

use serde::Serialize;

use crate::page::document::Basis;

/// The one secondary cue a place may carry; its kind is always a word.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Cue {
    /// None.
    #[default]
    Plain,
    /// A filter: a bar on the inlet edge.
    Filter,
    /// A tank or a pond: a heavy bottom edge.
    Store,
}

/// A figure on the drawing, dressed by its basis.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct DrawnFigure {
    /// The figure with its unit.
    pub text: String,
    /// How it is known.
    pub basis: Basis,
}

impl DrawnFigure {
    /// A figure with its basis.
    pub fn new(text: impl Into<String>, basis: Basis) -> Self {
        Self { text: text.into(), basis }
    }
}

/// A place: always the same rectangle.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct DiagramPlace {
    /// What ways call it; unique among places and outside names.
    pub id: String,
    /// Its kind in words: `deep media bed`.
    pub kind: String,
    /// Its own name.
    pub name: String,
    /// One figure.
    pub figure: Option<DrawnFigure>,
    /// Its secondary cue.
    pub cue: Cue,
    /// The train it belongs to; used when the diagram takes a sheet for each.
    pub train: Option<String>,
}

impl DiagramPlace {
    /// A place whose name is also its id.
    pub fn new(kind: impl Into<String>, name: impl Into<String>) -> Self {
        let name = name.into();
        Self { id: name.clone(), kind: kind.into(), name, figure: None, cue: Cue::Plain, train: None }
    }

    /// The same place with its cue.
    pub fn cue(mut self, cue: Cue) -> Self {
        self.cue = cue;
        self
    }

    /// The same place with its figure.
    pub fn figure(mut self, text: impl Into<String>, basis: Basis) -> Self {
        self.figure = Some(DrawnFigure::new(text, basis));
        self
    }

    /// The same place as part of a train.
    pub fn train(mut self, name: impl Into<String>) -> Self {
        self.train = Some(name.into());
        self
    }
}

/// Where an outside name stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Side {
    /// Supplies.
    Left,
    /// Rain and evaporation.
    Top,
    /// Seepage, bin, sludge, unaccounted.
    Foot,
    /// Discharge points, beyond the facility line.
    Right,
}

/// A name outside the facility, without a box.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct OutsideName {
    /// What ways call it; unique among places and outside names.
    pub id: String,
    /// The name.
    pub name: String,
    /// Where it stands.
    pub side: Side,
    /// Whether its ways are dotted: unaccounted.
    pub dotted: bool,
}

impl OutsideName {
    /// A name that is also its id.
    pub fn new(name: impl Into<String>, side: Side) -> Self {
        let name = name.into();
        Self { id: name.clone(), name, side, dotted: false }
    }

    /// The unaccounted name, at the foot, dotted.
    pub fn unaccounted(name: impl Into<String>) -> Self {
        Self { dotted: true, ..Self::new(name, Side::Foot) }
    }
}

/// What goes along a way: its pattern and word.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Carries {
    /// Water, solid line.
    Water,
    /// Wash water, dashed 7–2.5.
    WashWater,
    /// Solids, dashed 2–2.
    Solids,
    /// Spill or bypass, dashed 9–2–2–2.
    Spill,
}

impl Carries {
    /// What it is in words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Water => "water",
            Self::WashWater => "wash water",
            Self::Solids => "solids",
            Self::Spill => "spill or bypass",
        }
    }
}

/// A way from one place or name to another.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Way {
    /// Id of where it begins.
    pub from: String,
    /// Id of where it ends.
    pub to: String,
    /// What goes along it.
    pub carries: Carries,
    /// A word on it.
    pub word: Option<String>,
    /// A figure above it.
    pub figure: Option<DrawnFigure>,
    /// Whether the far end draws (`takes from`): it begins with a crossbar. Else the near end runs off (`goes to`).
    pub draws: bool,
}

impl Way {
    /// A way that carries water by running off.
    pub fn new(from: impl Into<String>, to: impl Into<String>) -> Self {
        Self { from: from.into(), to: to.into(), carries: Carries::Water, word: None, figure: None, draws: false }
    }

    /// The same way with what it carries.
    pub fn carries(mut self, carries: Carries) -> Self {
        self.carries = carries;
        self
    }

    /// The same way, drawn by its far end.
    pub fn drawn(mut self) -> Self {
        self.draws = true;
        self
    }

    /// The same way with a word.
    pub fn word(mut self, word: impl Into<String>) -> Self {
        self.word = Some(word.into());
        self
    }

    /// The same way with a figure.
    pub fn figure(mut self, text: impl Into<String>, basis: Basis) -> Self {
        self.figure = Some(DrawnFigure::new(text, basis));
        self
    }
}

/// The diagram. Ways whose ends are not in it are left out of the drawing.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize)]
pub struct Diagram {
    /// The places, in the order the user gave them.
    pub places: Vec<DiagramPlace>,
    /// The names outside.
    pub outside: Vec<OutsideName>,
    /// The ways.
    pub ways: Vec<Way>,
}
