//! The file of stages: which filters a train stands for, what it must do, and the kinds of stage that are allowed.

use crate::compare::keys::Lift;
use crate::compare::paid::{self, PaidOnce};
use crate::compare::prices::{self, Labour, Price, Spent};
use crate::compare::pumps::{self, Lifted};
use crate::compare::search::keys::{File, KeepsBack as KeepsBackKeys, Size, Stage};
use crate::facility::kinds::{self, Declared, FilterKind, Opening};
use crate::files::schema::document;
use crate::files::yaml::{Entry, Node, What};
use crate::files::{Field, Fields, Key, Of, Said};
use crate::quantity::{self as q, kind};
use crate::told::{Place, Problem, Problems};

/// The word for wash water that may not go anywhere.
const NOWHERE: &str = "nowhere";

/// The most trains that are run where nothing is typed.
const MOST_TRAINS: usize = 200;

/// The most kinds, sizes and numbers side by side together: their trains are counted before they are cut.
const MOST_UNITS: usize = 60;

/// A file of stages as read.
#[derive(Debug, Clone)]
pub struct Stages {
    /// Where it was read from.
    pub place: Place,
    /// The filters that a train stands for, in the order of the water.
    pub in_place_of: Vec<Said<String>>,
    /// What a train must keep back, if it is typed.
    pub keeps_back: Option<KeepsBack>,
    /// The most stages one after another.
    pub most_stages: usize,
    /// How much finer each stage is than the one before; above nought, 1 for any finer.
    pub finer: f64,
    /// The same as typed.
    pub finer_text: Option<String>,
    /// The most trains that are run.
    pub most_trains: usize,
    /// Where wash water goes.
    pub wash_water: WashWater,
    /// What brings the water to the first stage.
    pub(super) pump: Option<Lifted>,
    /// Every kind in every size and number, in the order of the file.
    pub units: Vec<Unit>,
}

/// Where wash, rinse and reject water of the stages goes.
#[derive(Debug, Clone)]
pub enum WashWater {
    /// Each stage says so itself.
    AsTyped,
    /// There, where a stage does not say.
    To(Said<String>),
    /// It may not go anywhere.
    Nowhere,
}

/// What a train must keep back.
#[derive(Debug, Clone)]
pub struct KeepsBack {
    /// The size, m.
    pub size_m: f64,
    /// The size as typed.
    pub size_text: String,
    /// The share.
    pub share: f64,
}

/// A kind of stage in one size and number.
#[derive(Debug, Clone)]
pub struct Unit {
    /// Its name as a place: the kind's, its size, and how many stand side by side.
    pub name: String,
    /// The kind's name.
    pub kind: String,
    /// Where the kind was typed.
    pub said_at: Place,
    /// How fine it is, m.
    pub size_m: f64,
    /// The same as typed.
    pub size_text: String,
    /// How many stand side by side.
    pub count: u32,
    /// Its lines, without where its water comes from and goes to; none for a filter of the site that stays.
    pub lines: Option<Node>,
    /// Who says what it does.
    pub figures_from: String,
    /// The most solids in the water that it can take, kg/m³, and as typed.
    pub takes: Option<(f64, String)>,
    /// What one costs to buy.
    pub pays_once: Option<PaidOnce>,
    /// What a change uses.
    pub used_up: Option<Price>,
    /// What spent pieces weigh.
    pub spent: Option<Spent>,
    /// Minutes of work at one.
    pub labour: Option<Labour>,
    /// What it loses of the head.
    pub(super) head: Option<Lifted>,
}

/// The JSON Schema of a file of stages.
pub fn schema() -> serde_json::Value {
    document::<File>("Stages: from which trains are built and tried")
}

/// Reads a file of stages; what is wrong is told.
pub fn read(tree: &Node, problems: &Problems) -> Option<Stages> {
    let errors = problems.errors();
    let mut file = Fields::of::<File>(tree, problems)?;
    let field = file.get(&File::IN_PLACE_OF);
    let mut in_place_of: Vec<Said<String>> = Vec::new();
    for one in field.one_or_more() {
        let Some(name) = one.name() else { continue };
        if in_place_of.iter().any(|known| known.value == name.value) {
            one.refuse(
                format!("`{}` stands here twice", name.value),
                "name each filter once, in the order of the water",
            );
        }
        in_place_of.push(name);
    }
    let keeps_back = keeps_back(&file.get(&File::KEEPS_BACK));
    let most_stages = file.read(&File::MOST_STAGES).map_or(3, |said| said.value as usize);
    let field = file.get(&File::FINER);
    let finer = field.read();
    let times = finer.as_ref().and_then(|given| given.ends()).map_or(1.0, |(low, _)| low.value);
    if times < 1.0 {
        field.refuse(
            "a stage that is coarser than the one before stops nothing",
            "write 1 times for any finer, or 2 times",
        );
    }
    let most_trains = file.read(&File::MOST_TRAINS).map_or(MOST_TRAINS, |said| said.value as usize);
    let wastes_to = file.get(&File::WASTES_TO);
    let wash_water = if wastes_to.says(NOWHERE) {
        WashWater::Nowhere
    } else {
        wastes_to.name().map_or(WashWater::AsTyped, WashWater::To)
    };
    let pump = lifted(&file.get(&File::PUMP));
    let field = file.get(&File::STAGES);
    let mut units = Vec::new();
    for (name, field) in field.named() {
        units.extend(kind(&name, &field, &wash_water));
    }
    if units.len() > MOST_UNITS {
        field.refuse(
            format!("{} kinds, sizes and numbers side by side are more than {MOST_UNITS}", units.len()),
            "leave out sizes that lie close together",
        );
    }
    if field.is_map() && units.is_empty() && problems.errors() == errors {
        field.refuse("no stage is allowed", "name at least one kind with its sizes");
    }
    file.finish();
    (problems.errors() == errors).then_some(Stages {
        place: tree.place.clone(),
        in_place_of,
        keeps_back,
        most_stages,
        finer: times,
        finer_text: finer.map(|given| given.text),
        most_trains,
        wash_water,
        pump,
        units,
    })
}

fn keeps_back(field: &Field<'_>) -> Option<KeepsBack> {
    let mut fields = field.map::<KeepsBackKeys>()?;
    let size = fields.read(&KeepsBackKeys::SIZE);
    let share = fields.read(&KeepsBackKeys::SHARE);
    fields.finish();
    let (size, share) = (size?, share?);
    // Of a range the stricter end: the finer size, the larger share.
    Some(KeepsBack { size_m: size.ends()?.0.value, share: share.ends()?.1.value, size_text: size.text })
}

fn lifted(field: &Field<'_>) -> Option<Lifted> {
    let mut fields = field.map::<Lift>()?;
    let lifted = pumps::lift_of(&mut fields);
    fields.finish();
    lifted
}

/// What one of a kind costs to buy: it is of the stage, and bought now.
fn bought(field: &Field<'_>, kind: &str) -> Option<PaidOnce> {
    field.node()?;
    let paid = paid::bought(kind.to_owned(), field)?;
    if let Some(of) = &paid.of {
        field.problems().add(
            Problem::error(&of.place, "what is bought under a stage is bought with it").hint("take `of` out here"),
        );
    }
    Some(paid)
}

/// What a size or a kind may say of money and of the load it takes.
#[derive(Clone, Default)]
struct Differs {
    lines: Option<Node>,
    pays_once: Option<PaidOnce>,
    piece: Option<(Option<Price>, Spent)>,
    takes: Option<(f64, String)>,
}

impl Differs {
    fn read(
        fields: &mut Fields<'_>,
        kind: &str,
        (lines, once): (&Key<crate::files::shapes::Anything>, &Key<Of<crate::compare::keys::PaidOnce>>),
        used_up: &Key<Of<crate::compare::keys::UsedUp>>,
        takes: &Key<crate::files::shapes::Known<kind::Concentration>>,
    ) -> Self {
        let lines = fields.get(lines);
        let is_map = lines.is_there() && lines.fields().is_some();
        for word in ["takes from", "goes to"] {
            if let Some(typed) = lines.is_map().then(|| lines.fields()).flatten().and_then(|map| map.typed(word)) {
                lines.problems().add(
                    Problem::error(&typed.key_place, format!("`{word}` stands in the lines of a stage"))
                        .hint("take it out: where its water comes from and goes to follows from the train"),
                );
            }
        }
        Self {
            lines: is_map.then(|| lines.node().cloned()).flatten(),
            pays_once: bought(&fields.get(once), kind),
            piece: prices::piece(&fields.get(used_up)),
            takes: fields.read(takes).and_then(|given| Some((given.ends()?.1.value, given.text))),
        }
    }
}

/// A kind in every size and number.
fn kind(name: &Said<String>, field: &Field<'_>, wash_water: &WashWater) -> Vec<Unit> {
    let Some(mut fields) = field.map::<Stage>() else { return Vec::new() };
    let figures_from = fields.read(&Stage::FIGURES_FROM);
    let like = fields.get(&Stage::LIKE);
    let stays = like.name();
    let of_kind =
        Differs::read(&mut fields, &name.value, (&Stage::LINES, &Stage::PAYS_ONCE), &Stage::USED_UP, &Stage::TAKES);
    match (&stays, &of_kind.lines) {
        (Some(_), Some(_)) => like.refuse(
            "a filter of the site that stays as it stands has no lines of its own",
            "take out `lines`, or `like`",
        ),
        (None, None) if !fields.has(Stage::LINES) && !like.is_there() => field.refuse(
            format!("`{}` has neither `lines` nor `like`", name.value),
            "write its lines as in facility.yaml, such as `lines: {kind: bag, housings: 2}`, or `like: Sand beds` for a filter that stays",
        ),
        _ => {}
    }
    let side = fields.get(&Stage::SIDE_BY_SIDE);
    let side_by_side = side_by_side(&side);
    let labour = [Stage::LABOUR, Stage::LABOR]
        .map(|key| fields.get(&key))
        .iter()
        .filter(|field| field.is_there())
        .find_map(|field| prices::labour_of(name.clone(), field));
    let head = lifted(&fields.get(&Stage::PUMP));
    let sizes_field = fields.get(&Stage::SIZES);
    let sizes = sizes(&sizes_field, &name.value);
    if let Some(stays) = &stays
        && (sizes.len() > 1 || side.is_there())
    {
        sizes_field.refuse(
            format!("`{}` stays as it stands, and has one size", stays.value),
            "write one size; what comes in others has lines of its own",
        );
    }
    fields.finish();
    let Some(figures_from) = figures_from else { return Vec::new() };
    let mut out = Vec::new();
    for size in &sizes {
        for (count, lines) in &side_by_side {
            let one = |of: fn(&Differs) -> Option<Price>| of(&size.differs).or_else(|| of(&of_kind));
            let lines = of_kind.lines.as_ref().map(|base| {
                let mut all = base.clone();
                put(&mut all, size.differs.lines.as_ref());
                if opens(&all) && !has(size.differs.lines.as_ref(), "opening") {
                    put_text(&mut all, "opening", &size.name.text, &size.name.place);
                }
                put(&mut all, lines.as_ref());
                if let WashWater::To(place) = wash_water
                    && let Some(word) = key_of_wash_water(&all)
                    && !has(Some(&all), word)
                {
                    put_text(&mut all, word, &place.value, &place.place);
                }
                all
            });
            let side = if *count > 1 { format!(" ({count})") } else { String::new() };
            out.push(Unit {
                name: stays
                    .as_ref()
                    .map_or_else(|| format!("{} {}{side}", name.value, size.name.text.trim()), |of| of.value.clone()),
                kind: name.value.clone(),
                said_at: name.place.clone(),
                size_m: size.size_m,
                size_text: size.name.text.trim().to_owned(),
                count: *count,
                lines,
                figures_from: figures_from.value.clone(),
                takes: size.differs.takes.clone().or_else(|| of_kind.takes.clone()),
                pays_once: size.differs.pays_once.clone().or_else(|| of_kind.pays_once.clone()),
                used_up: one(|said| said.piece.as_ref()?.0.clone()),
                spent: size.differs.piece.as_ref().or(of_kind.piece.as_ref()).map(|piece| piece.1.clone()),
                labour: labour.clone(),
                head: head.clone(),
            });
        }
    }
    out
}

/// A size with what differs in it.
struct SizeSaid {
    name: Said<String>,
    size_m: f64,
    differs: Differs,
}

fn sizes(field: &Field<'_>, kind_name: &str) -> Vec<SizeSaid> {
    let mut out: Vec<SizeSaid> = Vec::new();
    let mut add = |name: Said<String>, differs: Differs| match q::range::<kind::Size>(&name.value) {
        Ok(size) => {
            let size_m = size.low.value;
            if size.low < size.high {
                let told = Problem::error(&name.place, format!("`{}` is a range, and a stage is one size", name.text));
                field.problems().add(told.hint("write one size, such as 25 um"));
            } else if out.iter().any(|known| (known.size_m / size_m - 1.0).abs() < 1e-9) {
                field.problems().add(
                    Problem::error(&name.place, format!("`{}` is a size of `{kind_name}` already", name.text))
                        .hint("write each size once"),
                );
            } else if size_m > 0.0 {
                out.push(SizeSaid { name, size_m, differs });
            }
        }
        Err(misread) => field.problems().add(Problem::misread(&name.place, misread)),
    };
    if field.is_map() {
        for (name, of) in field.named() {
            let is_nothing = of.node().is_some_and(|node| node.what == What::Nothing);
            let differs = if is_nothing { None } else { of.map::<Size>() };
            let differs = differs.map_or_else(Differs::default, |mut fields| {
                let said = Differs::read(
                    &mut fields,
                    kind_name,
                    (&Size::LINES, &Size::PAYS_ONCE),
                    &Size::USED_UP,
                    &Size::TAKES,
                );
                fields.finish();
                said
            });
            add(name, differs);
        }
    } else {
        for name in field.one_or_more().iter().filter_map(Field::name) {
            add(name, Differs::default());
        }
    }
    out
}

/// How many stand side by side, and the lines that this changes; one by itself where nothing is typed.
fn side_by_side(field: &Field<'_>) -> Vec<(u32, Option<Node>)> {
    const MOST: u32 = 4;
    let mut out: Vec<(u32, Option<Node>)> = vec![(1, None)];
    for (name, lines) in field.named() {
        let count = name.value.trim().parse::<u32>().ok().filter(|count| (1..=MOST).contains(count));
        let Some(count) = count else {
            field.problems().add(
                Problem::error(&name.place, format!("`{}` is not how many stand side by side", name.text))
                    .hint(format!("write a number from 1 to {MOST}, and behind it the lines that it changes")),
            );
            continue;
        };
        let is_nothing = lines.node().is_some_and(|node| node.what == What::Nothing);
        if count > 1 && (is_nothing || lines.fields().is_none_or(|mut fields| fields.rest().is_empty())) {
            lines.refuse(
                format!("nothing is said of what {count} side by side change"),
                "write the lines of all of them together, such as {housings: 4, working at once: 2} or {vessels: 6}",
            );
            continue;
        }
        let node = lines.node().filter(|_| !is_nothing).cloned();
        match out.iter_mut().find(|known| known.0 == count) {
            Some(known) => known.1 = node,
            None => out.push((count, node)),
        }
    }
    out
}

/// The kind of filter that lines describe.
fn kind_of(lines: &Node) -> Option<&str> {
    let What::Map(entries) = &lines.what else { return None };
    match &entries.iter().find(|entry| entry.key.trim().eq_ignore_ascii_case("kind"))?.value.what {
        What::Text(text) => Some(text.trim()),
        _ => None,
    }
}

/// What is declared of the kind of filter that lines describe.
fn declared(lines: &Node) -> Option<&'static Declared> {
    let kind = kind_of(lines)?;
    FilterKind::ALL.iter().find(|of| kind.eq_ignore_ascii_case(of.words))
}

/// Whether the filter of these lines is told by an opening.
fn opens(lines: &Node) -> bool {
    declared(lines).is_some_and(|of| {
        of.opening == Opening::Typed && !of.in_place_of_stops.is_some_and(|key| has(Some(lines), key))
    })
}

/// The key under which the filter of these lines says where its wash, rinse or reject water goes.
fn key_of_wash_water(lines: &Node) -> Option<&'static str> {
    kinds::wash_water_key(kind_of(lines)?)
}

fn has(lines: Option<&Node>, key: &str) -> bool {
    matches!(lines.map(|node| &node.what), Some(What::Map(entries)) if entries.iter().any(|entry| entry.key.trim() == key))
}

/// Each new line replaces the old one whole.
fn put(lines: &mut Node, new: Option<&Node>) {
    if let (What::Map(old), Some(What::Map(new))) = (&mut lines.what, new.map(|node| &node.what)) {
        for line in new {
            match old.iter_mut().find(|known| known.key.trim() == line.key.trim()) {
                Some(known) => *known = line.clone(),
                None => old.push(line.clone()),
            }
        }
    }
}

fn put_text(lines: &mut Node, key: &str, text: &str, place: &Place) {
    let value = Node { what: What::Text(text.trim().to_owned()), place: place.clone() };
    let entry = Entry { key: key.to_owned(), key_place: place.clone(), value };
    let line = Node { what: What::Map(vec![entry]), place: place.clone() };
    put(lines, Some(&line));
}

impl Unit {
    /// What is declared of its kind of filter; none of one that stays as it stands.
    pub(super) fn declared(&self) -> Option<&'static Declared> {
        declared(self.lines.as_ref()?)
    }

    /// Every price of it.
    pub(super) fn prices(&self) -> impl Iterator<Item = &Price> {
        self.used_up.iter().chain(self.pays_once.iter().map(|paid| &paid.price))
    }

    /// With a line more, such as where its water comes from.
    pub(super) fn with(&self, key: &str, value: &Node) -> Option<Node> {
        let mut lines = self.lines.clone()?;
        if let What::Map(entries) = &mut lines.what {
            entries.push(Entry { key: key.to_owned(), key_place: self.said_at.clone(), value: value.clone() });
        }
        Some(lines)
    }

    /// Whether its lines say where its wash, rinse or reject water goes, or have to.
    pub(super) fn lacks_a_way_for_wash_water(&self) -> Option<&'static str> {
        let lines = self.lines.as_ref()?;
        key_of_wash_water(lines).filter(|word| !has(Some(lines), word))
    }
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;

    /// A unit of which nothing matters but its name and how fine it is.
    pub(in crate::compare::search) fn unit(name: &str, size_m: f64) -> Unit {
        Unit {
            name: name.to_owned(),
            kind: name.to_owned(),
            said_at: Place::file("stages.yaml"),
            size_m,
            size_text: String::new(),
            count: 1,
            lines: None,
            figures_from: String::new(),
            takes: None,
            pays_once: None,
            used_up: None,
            spent: None,
            labour: None,
            head: None,
        }
    }
}
