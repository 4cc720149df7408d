//! What stands together on a sheet: a heading, or the words before a table or a drawing, with the beginning of it.

use crate::page::document::{Block, Heading, Text};
use crate::page::draw::{Type, wrap};
use crate::page::pdf::compose::{BODY, Composer, LINE};

/// Most lines between a heading and a table that stay with it.
pub const MOST_TOGETHER: usize = 8;

/// Most lines between a heading and a table that stay with it where the table then begins with one row.
const MOST_WITH_A_ROW: usize = 14;

/// Share of a sheet that is left blank at the most for those.
const BLANK_BEFORE_A_ROW: f32 = 0.4;

/// Share of a sheet that is left blank at the most for a table to stand whole: with more of it free, the table parts.
pub const BLANK: f32 = 1.0 / 3.0;

/// Blocks that begin on one sheet.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Together {
    /// How many of them end before the last, or with it.
    pub blocks: usize,
    /// The height that they cannot do without.
    pub least: f32,
    /// The height with which nothing parts that is better whole.
    pub liked: f32,
}

impl Together {
    fn of(height: f32) -> Self {
        Self { blocks: 0, least: height, liked: height }
    }

    /// With a block of this height above.
    fn below(self, height: f32) -> Self {
        Self { blocks: self.blocks + 1, least: self.least + height, liked: self.liked + height }
    }
}

impl<'a> Composer<'a> {
    /// Goes to a new sheet where the first of the blocks would stand there without the beginning of what it leads to.
    /// Returns how many blocks have been looked at: they part from one another no more.
    pub fn keep_together(&mut self, blocks: &'a [Block]) -> usize {
        if self.unled && matches!(blocks.first(), Some(Block::Paragraph(_))) {
            return 0;
        }
        let leads = match blocks {
            [Block::Heading(_), ..] => true,
            [Block::Paragraph(paragraph), next, ..] => {
                self.body_lines(&paragraph.text) <= MOST_TOGETHER && is_led_to(next)
            }
            _ => false,
        };
        // Who signs has something to sign: the caution before the lines stands on their sheet.
        if let [Block::Caution(caution), rest @ ..] = blocks
            && let [Block::Heading(_), Block::Paragraph(_), Block::Signature(_), ..] = rest
        {
            let height = self.caution_height(caution) + self.together_with(rest, MOST_TOGETHER).least;
            let page = self.grid.bottom - self.grid.top;
            if height + LINE <= page {
                self.need(height + LINE);
            }
            return 0;
        }
        if !leads {
            return 0;
        }
        let page = self.grid.bottom - self.grid.top;
        let mut together = self.together_with(blocks, MOST_TOGETHER);
        let headed = matches!(blocks.first(), Some(Block::Heading(_)));
        // What is left of this sheet is what would stay blank.
        let left = self.grid.bottom - self.y;
        if headed && together.least > page * BLANK && left > page * BLANK {
            // So much would leave too much of a sheet blank: the last words before the table alone go with it, and where those are
            // all that stands under the heading, they stay with that and a drawing goes on by itself.
            match led_by_first_words(blocks) {
                Some(Block::Figure(_)) => {
                    self.unled = true;
                    together = self.together_with(blocks, 0);
                }
                Some(_) => {}
                None => {
                    together = match self.with_one_row(blocks) {
                        Some(together) => together,
                        None => self.together_with(blocks, 0),
                    }
                }
            }
        } else if headed && matches!(blocks.get(together.blocks), Some(Block::Paragraph(_))) {
            together = self.with_one_row(blocks).unwrap_or(together);
        }
        self.need_either(together.least.min(page), together.liked.min(page));
        together.blocks
    }

    /// A heading with much to say before its table, which then begins with its first row alone: whoever is sent to the heading
    /// finds the table there. None where there is no table, or even that leaves too much of a sheet blank.
    fn with_one_row(&mut self, blocks: &'a [Block]) -> Option<Together> {
        self.one_row = true;
        let together = self.together_with(blocks, MOST_WITH_A_ROW);
        let last = together.blocks.checked_sub(1).and_then(|at| blocks.get(at));
        let page = self.grid.bottom - self.grid.top;
        self.one_row = matches!(last, Some(Block::Table(_))) && together.least <= page * BLANK_BEFORE_A_ROW;
        self.one_row.then_some(together)
    }

    /// Goes to a new sheet unless the height that is liked fits, or the least of it where the sheet would else stay too
    /// blank.
    pub fn need_either(&mut self, least: f32, liked: f32) {
        let blank = (self.grid.bottom - self.grid.top) * BLANK;
        let room = self.grid.bottom - self.y;
        self.need(if room > blank { least } else { liked });
    }

    /// Height that stands below the last lines of words that lead to these blocks; nought where they lead to nothing.
    pub fn led_height(&mut self, blocks: &'a [Block]) -> f32 {
        match blocks.first() {
            Some(next) if is_led_to(next) => self.together_with(blocks, 0).least + 5.0,
            _ => 0.0,
        }
    }

    fn body_lines(&self, text: &Text) -> usize {
        wrap(text, Type::plain(BODY), self.grid.body_width()).len()
    }

    fn heading_height(&self, heading: &Heading) -> f32 {
        let (kind, leading, above) = match heading.level {
            0 | 1 => (Type::plain(20.0), 26.0, 8.0),
            2 => (Type::plain(LINE), 26.0, LINE),
            _ => (Type::bold(10.5), LINE, 8.0),
        };
        let lines = wrap(&Text::from(&heading.text), kind, self.grid.body_width()).len();
        lines as f32 * leading + if self.at_top() { 0.0 } else { above }
    }

    fn together_with(&mut self, blocks: &'a [Block], lines_left: usize) -> Together {
        let Some((first, rest)) = blocks.split_first() else { return Together::default() };
        match first {
            Block::Heading(heading) => {
                let height = self.heading_height(heading);
                self.together_with(rest, lines_left).below(height)
            }
            Block::Paragraph(paragraph) => {
                let lines = self.body_lines(&paragraph.text);
                let leads = rest.first().is_some_and(|next| is_led_to(next) || matches!(next, Block::Paragraph(_)));
                // More of it would leave too much of a sheet blank.
                if lines > lines_left || !leads {
                    return Together::of(lines.min(2) as f32 * LINE);
                }
                self.together_with(rest, lines_left - lines).below(lines as f32 * LINE + 5.0)
            }
            Block::Table(table) => {
                let (least, liked) = self.rows_together(table);
                Together { blocks: 1, least: least + 4.0, liked: liked + 4.0 }
            }
            Block::Figure(figure) => Together::of(self.figure_height(figure)).below(0.0),
            Block::Water(account) => {
                let lines = account.came_in.len().max(account.went_out.len());
                Together::of((lines as f32 + 7.0) * LINE).below(0.0)
            }
            Block::Signature(labels) => Together::of(Self::signature_height(labels)).below(0.0),
            Block::Outcomes(_) => Together::of(7.0 * LINE).below(0.0),
            Block::Caution(caution) => Together::of(6.0 + self.caution_height(caution)),
            Block::PageBreak => Together::default(),
            _ => Together::of(2.0 * LINE),
        }
    }
}

/// What the first words under headings lead to, if they are all that stands before it.
fn led_by_first_words(blocks: &[Block]) -> Option<&Block> {
    let under = blocks.iter().position(|block| !matches!(block, Block::Heading(_)))?;
    match blocks.get(under..)? {
        [Block::Paragraph(_), next, ..] if is_led_to(next) => Some(next),
        _ => None,
    }
}

/// Whether words before a block lead to it: a table that stands whole under a caption of its own stands by itself.
fn is_led_to(block: &Block) -> bool {
    match block {
        Block::Table(table) => !table.whole || table.caption.is_none(),
        Block::Figure(_) | Block::List(_) | Block::Signature(_) => true,
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use crate::page::document::{
        AccountLine, Basis, Block, Calendar, CalendarMonth, Cell, Column, DayMark, Diagram, DiagramPlace, Document,
        Paragraph, Table, WaterAccount, Way,
    };
    use crate::page::pdf::{layout_faults, read_back, render};

    /// A document that begins with so many lines of their own.
    fn filled(lines: usize) -> Document {
        let mut doc = Document::new("Title", "Site", "2025");
        for _ in 0..lines {
            doc.paragraph("Filler.");
        }
        doc
    }

    fn pages(doc: &Document) -> Vec<String> {
        assert_eq!(layout_faults(doc), Vec::<String>::new());
        let read = read_back(&render(doc).unwrap()).unwrap();
        read.pages.into_iter().map(|lines| lines.join(" ")).collect()
    }

    fn page_of(pages: &[String], words: &str) -> usize {
        pages.iter().position(|page| page.contains(words)).unwrap_or_else(|| panic!("{words}: {pages:?}"))
    }

    fn rows(count: usize, words: &str) -> Table {
        let mut table = Table::new(vec![Column::words("Row"), Column::words("Words")]);
        for number in 1..=count {
            table.row(vec![Cell::words(format!("row {number}.")), Cell::words(words)]);
        }
        table
    }

    #[test]
    fn words_stand_on_one_sheet_with_the_table_they_lead_to_and_no_sheet_is_left_a_third_blank() {
        // A long table of short rows, and a short one of tall rows.
        for table in [rows(30, "short"), rows(5, &"tall ".repeat(75))] {
            for lines in 20..40 {
                for headed in [false, true] {
                    let mut doc = filled(lines);
                    if headed {
                        doc.heading(3, "The heading");
                    }
                    doc.paragraph("The words before it.");
                    doc.table(table.clone());
                    let pages = pages(&doc);
                    let at = page_of(&pages, "The words before it.");
                    for words in ["row 1.", "row 2.", "row 3."] {
                        assert_eq!(page_of(&pages, words), at, "{words} {lines} {headed}: {pages:?}");
                    }
                    if headed {
                        assert_eq!(page_of(&pages, "The heading"), at);
                    }
                    if at == 1 {
                        let fillers = pages[0].matches("Filler.").count();
                        // A paragraph is 18 points high, the title 51, a sheet 676.
                        assert!(676.0 - 51.0 - 18.0 * fillers as f32 <= 676.0 / 3.0 + 5.0, "{lines} {headed}");
                    }
                }
            }
        }
    }

    #[test]
    fn a_heading_stands_on_the_sheet_on_which_its_table_begins_however_much_is_said_before_it() {
        for (words, tall) in [(1, 60), (4, 60), (7, 60), (9, 1)] {
            for lines in 18..40 {
                let mut doc = filled(lines);
                doc.heading(3, "The heading");
                doc.paragraph("The first words.");
                for _ in 0..words {
                    doc.paragraph("More words.");
                }
                doc.table(rows(5, &"tall ".repeat(tall)));
                let pages = pages(&doc);
                assert_eq!(page_of(&pages, "The heading"), page_of(&pages, "row 1."), "{words} {lines}: {pages:?}");
            }
        }
    }

    /// A calendar as high as a third of a sheet.
    fn calendar() -> Calendar {
        let month = |number: usize| CalendarMonth {
            name: format!("Month {number}"),
            days: vec![(DayMark::Dry, false); 31],
            days_with_water: 0,
            total: None,
        };
        Calendar { months: (1..=20).map(month).collect(), totals: "left".to_owned() }
    }

    #[test]
    fn no_heading_and_no_dash_of_a_list_stands_at_the_foot_of_a_sheet_without_its_words() {
        for lines in 20..38 {
            let mut doc = filled(lines);
            doc.heading(3, "The heading");
            doc.paragraph("The words before it.");
            doc.calendar(calendar(), "alt", "caption");
            let pages = pages(&doc);
            assert_eq!(page_of(&pages, "The heading"), page_of(&pages, "The words before it."), "{lines}");
            // 22 lines of 18 points and a title of 51 leave a third of a sheet of 676: no more of it stays blank.
            if lines > 22 {
                assert_eq!(page_of(&pages, "The heading"), page_of(&pages, "Month 20"), "{lines}: {pages:?}");
            }
            let mut doc = filled(lines);
            let item = (100..135).map(|number| format!("n{number}")).collect::<Vec<_>>().join(" ");
            doc.list(vec![item.as_str().into()]);
            let read = self::pages(&doc);
            assert_eq!(page_of(&read, "–"), page_of(&read, "n100"), "{lines}");
        }
    }

    #[test]
    fn an_account_that_page_1_has_no_room_for_stands_whole_on_page_2_and_page_1_points_to_it() {
        let of = |lines: usize| {
            let mut doc = filled(lines);
            let line = AccountLine::new("Well", 3.0, Basis::Metered);
            let came_in = vec![line; 12];
            let notes = vec!["A note.".into(), "Who decides.".into()];
            let caption = Some("The year's water".to_owned());
            let (unit, brief) = ("gal".to_owned(), "Left the site: 7 gal.".to_owned());
            doc.water(WaterAccount { caption, unit, came_in, notes, brief, ..WaterAccount::default() });
            doc.page_break();
            doc.paragraph("What follows.");
            pages(&doc)
        };
        let short = of(5);
        assert!(short[0].contains("Well") && short[0].contains("Who decides."), "{short:?}");
        let long = of(30);
        assert!(long[0].contains("Left the site: 7 gal. The account stands at the top of page 2."), "{long:?}");
        assert!(long[0].contains("Who decides.") && !long[0].contains("Well"));
        assert!(
            long[1].contains("Well") && long[1].contains("A note.") && long[1].contains("What follows."),
            "{long:?}"
        );
    }

    #[test]
    fn words_go_before_a_picture_where_the_account_takes_the_top_of_its_sheet() {
        let of = |lines: usize| {
            let mut doc = filled(lines);
            let came_in = vec![AccountLine::new("Well", 3.0, Basis::Metered); 12];
            let notes = vec!["Who decides.".into()];
            let brief = "Left the site: 7 gal.".to_owned();
            doc.water(WaterAccount { came_in, notes, brief, ..WaterAccount::default() });
            doc.page_break();
            doc.heading(2, "The picture");
            let names: Vec<String> = (1..=14).map(|number| format!("Tank {number}.")).collect();
            let places = names.iter().map(|name| DiagramPlace::new("tank", name.clone())).collect();
            let ways = names.windows(2).map(|pair| Way::new(pair[0].clone(), pair[1].clone())).collect();
            doc.diagram(Diagram { places, ways, ..Diagram::default() }, "alt", "caption");
            for words in ["Papers.", "Days."] {
                doc.heading(2, words);
                doc.calendar(calendar(), "alt", "caption");
            }
            // The first of them is of words alone.
            let papers = doc.blocks.len() - 3;
            doc.blocks[papers] = Block::Paragraph(Paragraph { text: "Slips.".into(), folio: None });
            let pages = pages(&doc);
            assert_eq!(page_of(&pages, "Papers.") == page_of(&pages, "Well"), lines == 30, "{lines}: {pages:?}");
            let all = pages.join(" ");
            ["Papers.", "Tank 14.", "Days."].map(|words| all.find(words).unwrap())
        };
        let [papers, picture, days] = of(5);
        assert!(picture < papers && papers < days, "page 1 has its account, and the picture follows");
        let [papers, picture, days] = of(30);
        assert!(papers < picture && picture < days, "the papers stand below the account on page 2");
    }

    #[test]
    fn a_few_lines_that_run_over_are_followed_by_what_would_begin_a_sheet() {
        let of = |over: usize| {
            let mut doc = filled(1);
            doc.blocks.push(Block::PageBreak);
            for _ in 0..over {
                doc.paragraph("Filler.");
            }
            doc.blocks.push(Block::PageBreak);
            doc.paragraph("What follows.");
            pages(&doc).len()
        };
        assert_eq!((of(3), of(30)), (2, 3));
    }

    #[test]
    fn the_last_line_of_a_paragraph_never_begins_a_sheet() {
        for words in [45, 150] {
            let numbered: Vec<String> = (100..100 + words).map(|number| format!("n{number}")).collect();
            for lines in 20..36 {
                let mut doc = filled(lines);
                doc.paragraph(numbered.join(" "));
                let over = pages(&doc).get(1).map_or(0, |page| page.matches('n').count());
                // A line holds some 16 of them.
                assert!(over == 0 || over > 17, "{words} {lines}: {over}");
            }
        }
    }
}
