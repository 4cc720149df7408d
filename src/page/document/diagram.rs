//! The site's picture: places, ways, and the names outside.

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

/// What stands in a picture where an amount depends on something that is not known; its key explains it.
pub const NOT_KNOWN: &str = "?";

impl DrawnFigure {
    /// A figure with its basis.
    pub fn new(text: impl Into<String>, basis: Basis) -> Self {
        Self { text: text.into(), basis }
    }
}

/// What comes to a place or leaves it without a way.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Sign {
    /// Rain that falls on it.
    Rain,
    /// Evaporated, or taken up by the crop.
    Up,
    /// Seeped or soaked away.
    Down,
    /// What a meter or a level shows against the balance, brought in.
    Unaccounted,
}

/// A sign at a place, with its figure.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PlaceMark {
    /// What it is.
    pub sign: Sign,
    /// What it is in words, for those who read it as a table.
    pub words: String,
    /// How much.
    pub figure: DrawnFigure,
}

/// What becomes of a place in what is proposed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Change {
    /// It is put in.
    PutIn,
    /// It is taken out.
    TakenOut,
    /// It stays and is altered.
    Altered,
}

impl Change {
    /// The word at the place.
    pub fn words(self) -> &'static str {
        match self {
            Self::PutIn => "put in",
            Self::TakenOut => "taken out",
            Self::Altered => "altered",
        }
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
    /// What is said of it where it has no figure: its size.
    pub size: Option<String>,
    /// One figure.
    pub figure: Option<DrawnFigure>,
    /// Its secondary cue.
    pub cue: Cue,
    /// What comes and leaves without a way.
    pub marks: Vec<PlaceMark>,
    /// What becomes of it, on the picture of a proposal.
    pub change: Option<Change>,
}

impl DiagramPlace {
    /// A place whose name is also its id.
    pub fn new(kind: impl Into<String>, name: impl Into<String>) -> Self {
        let name = name.into();
        Self {
            id: name.clone(),
            kind: kind.into(),
            name,
            size: None,
            figure: None,
            cue: Cue::Plain,
            marks: Vec::new(),
            change: None,
        }
    }

    /// The same place with its cue.
    pub fn cue(mut self, cue: Cue) -> Self {
        self.cue = cue;
        self
    }

    /// The same place with its size.
    pub fn size(mut self, text: impl Into<String>) -> Self {
        self.size = Some(text.into());
        self
    }

    /// The same place with its figure.
    pub fn figure(mut self, text: impl Into<String>, basis: Basis) -> Self {
        self.figure = Some(DrawnFigure::new(text, basis));
        self
    }

    /// The same place with one more sign.
    pub fn mark(mut self, sign: Sign, words: impl Into<String>, text: impl Into<String>, basis: Basis) -> Self {
        self.marks.push(PlaceMark { sign, words: words.into(), figure: DrawnFigure::new(text, basis) });
        self
    }
}

/// Where an outside name stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Side {
    /// Supplies, and where a way goes on to another sheet.
    Left,
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
}

impl OutsideName {
    /// A name that is also its id.
    pub fn new(name: impl Into<String>, side: Side) -> Self {
        let name = name.into();
        Self { id: name.clone(), name, side }
    }
}

/// What goes along a way: its pattern and word.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Carries {
    /// Water.
    Water,
    /// Wash water.
    WashWater,
    /// Solids.
    Solids,
    /// Spill or bypass.
    Spill,
}

impl Carries {
    /// All of them, as the key lists them.
    pub const ALL: [Self; 4] = [Self::Water, Self::WashWater, Self::Spill, Self::Solids];

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
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Way {
    /// Id of where it begins.
    pub from: String,
    /// Id of where it ends.
    pub to: String,
    /// What goes along it.
    pub carries: Carries,
    /// A word on it.
    pub word: Option<String>,
    /// A figure beside it.
    pub figure: Option<DrawnFigure>,
    /// The volume that its width stands for, in the picture's unit; none where nothing flowed.
    pub volume: Option<f64>,
    /// Whether the far end draws (`takes from`): it begins with a crossbar. Else the near end runs off (`goes to`).
    pub draws: bool,
}

impl Way {
    /// A way that carries water by running off.
    pub fn new(from: impl Into<String>, to: impl Into<String>) -> Self {
        Self {
            from: from.into(),
            to: to.into(),
            carries: Carries::Water,
            word: None,
            figure: None,
            volume: None,
            draws: false,
        }
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

    /// The same way with the volume that its width stands for.
    pub fn volume(mut self, volume: f64) -> Self {
        self.volume = Some(volume);
        self
    }
}

/// The picture. Ways whose ends are not in it are left out of the drawing.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Diagram {
    /// The places, in the order the user gave them.
    pub places: Vec<DiagramPlace>,
    /// The names outside.
    pub outside: Vec<OutsideName>,
    /// The ways.
    pub ways: Vec<Way>,
    /// The unit of the ways' volumes.
    pub unit: String,
    /// Places and names as the user has laid them out, by id: rows from the top, each from the left. What is not in them
    /// is put where it fits.
    pub rows: Vec<Vec<String>>,
}
