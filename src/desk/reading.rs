//! Charts that were printed elsewhere, read with a person beside: pages are read once, questions are answered one by one, on
//! any day, and a piece comes of it. What is asked and answered is that of `read`, by the same operation.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::files::Files;
use super::look::LookReport;
use super::pieces::{KeepAs, KeepReport, KeepRequest, keep};
use super::read::{Answered, answered, shown};
use super::work::small_picture;
use super::{Error, InBasket, Replace, Source, Warning};
use crate::basket::{Basket, Missing, PieceId, Reading, ReadingFigures};
use crate::chart::{ChartError, PrintedShape};
use crate::ground::advice::Advice;
use crate::ground::colour::Srgb8;
use crate::ground::day::When;
use crate::ground::progress::Progress;
use crate::making::photo::Limits;
use crate::reading::Reader;
use crate::reading::read::{
    Answer, DoubtKind, FoundSymbol, Joined, PagePlace, Read, ReadError, ReadLine, ReadOptions, Shown,
};

/// What is said of where nothing is read a second time.
const THE_PAGES: &str = "the pages";

/// Pages that were read, to be asked about.
#[derive(Debug, Clone)]
pub struct OpenPages {
    shown: Arc<Shown>,
    /// What each symbol is known by, by its number, which no answer changes; then each kind of lines and knots.
    signs: Arc<[String]>,
}

/// Reads pages, in order. `size` is that of the whole chart, where a person had to say it.
///
/// # Errors
/// [`Error`] says what was missing. Where it is how pages join, [`wants_size`] says so.
pub fn open_pages(
    pages: &[Source],
    size: [Option<u32>; 2],
    reader: &Reader,
    progress: &dyn Progress,
) -> Result<OpenPages, Error> {
    let mut files = Files::new(Replace::Ours, progress).within(Limits::default());
    let shown = shown(&mut files, pages, size, reader)?;
    let found = charted(&shown, &ReadOptions::default())?;
    let mut signs: Vec<String> = Vec::new();
    for symbol in &found.symbols {
        let sign = symbol.sign();
        // One outline may be two symbols, such as a whole stitch and a part of one: the second is known as such.
        let before = signs.iter().filter(|known| known.split(' ').next() == Some(&sign)).count();
        signs.push(if before == 0 { sign } else { format!("{sign} {}", before + 1) });
    }
    signs.extend((1..=found.lines.len() + found.knotted.len()).map(|line| format!("line {line}")));
    let signs = signs.into();
    Ok(OpenPages { shown: Arc::new(shown), signs })
}

/// Whether pages can be read once somebody says how large the whole chart is.
#[must_use]
pub fn wants_size(error: &Error) -> bool {
    error.advice() == Some(Advice::SayColumnsAndRows)
}

/// Keeps the files of a chart that is being read, and gives its id. The same files are gone on with where they were left.
///
/// # Errors
/// [`Error`]; then the workbasket is as it was.
pub fn begin_reading(
    folder: &Path,
    name: &str,
    pages: &[Source],
    when: When,
    progress: &dyn Progress,
) -> Result<PieceId, Error> {
    let mut files = Files::new(Replace::Ours, progress);
    let mut kept = Vec::new();
    for source in pages {
        kept.push((source.file_name(), files.bytes(source, super::Wanted::PrintedChart)?));
    }
    let mut basket = Basket::open(folder, Missing::Make)?;
    super::backup::before_change(&mut basket, when, &mut files.warnings);
    if let Some(id) = basket.reading_of_files(&kept)? {
        basket.put_reading_away(&id, false)?;
        return Ok(id);
    }
    Ok(basket.begin_reading(&crate::ground::plain::lettered(name), &kept, when)?)
}

/// All charts that are being read; none where nothing was kept yet.
///
/// # Errors
/// [`Error`].
pub fn readings(folder: &Path) -> Result<Vec<Reading>, Error> {
    match Basket::open(folder, Missing::Refuse) {
        Ok(basket) => {
            let mut all = basket.readings()?;
            all.retain(|reading| reading.piece.is_none());
            Ok(all)
        }
        Err(crate::basket::BasketError::None { .. }) => Ok(Vec::new()),
        Err(error) => Err(error.into()),
    }
}

/// The reading that a piece came of, where it came of one.
///
/// # Errors
/// [`Error`].
pub fn reading_of_piece(piece: &InBasket) -> Result<Option<PieceId>, Error> {
    let basket = Basket::open(&piece.folder, Missing::Refuse)?;
    let id = basket.find(&piece.piece)?;
    Ok(basket.readings()?.into_iter().find(|reading| reading.piece.as_ref() == Some(&id)).map(|one| one.id))
}

/// A chart that is being read, in a workbasket.
#[derive(Debug, Clone)]
pub struct InReading {
    /// The folder of the workbasket.
    pub folder: PathBuf,
    /// Its id.
    pub id: PieceId,
    /// The moment: what is said is said then.
    pub when: When,
}

impl InReading {
    fn basket(&self) -> Result<Basket, Error> {
        Ok(Basket::open(&self.folder, Missing::Refuse)?)
    }

    /// Reads its pages again.
    ///
    /// # Errors
    /// [`Error`], as [`open_pages`].
    pub fn open(&self, reader: &Reader, progress: &dyn Progress) -> Result<OpenPages, Error> {
        let basket = self.basket()?;
        let size = basket.reading(&self.id)?.said_size;
        let files = basket.reading_files(&self.id)?;
        let pages: Vec<Source> = files.into_iter().map(|(name, bytes)| Source::held(name, bytes)).collect();
        open_pages(&pages, size, reader, progress)
    }

    /// A small picture of it, as PNG; nothing where its pages were not laid together yet.
    ///
    /// # Errors
    /// [`Error`].
    pub fn picture(&self) -> Result<Option<Vec<u8>>, Error> {
        Ok(self.basket()?.reading_picture(&self.id)?)
    }

    /// Changes something about it as a whole.
    ///
    /// # Errors
    /// [`Error`].
    pub fn change(&self, change: &ReadingChange) -> Result<(), Error> {
        let mut basket = self.basket()?;
        match change {
            ReadingChange::Name(name) => {
                basket.rename_reading(&self.id, &crate::ground::plain::lettered(name))?
            }
            ReadingChange::Size(size) => basket.size_of_reading(&self.id, *size)?,
            ReadingChange::PutAway => basket.put_reading_away(&self.id, true)?,
            ReadingChange::BringBack => basket.put_reading_away(&self.id, false)?,
        }
        Ok(())
    }
}

/// What is to become of a chart that is being read, as a whole.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub enum ReadingChange {
    /// It is called something else.
    Name(String),
    /// The whole chart has so many columns and rows.
    Size([u32; 2]),
    /// It goes out of sight.
    PutAway,
    /// It comes back.
    BringBack,
}

/// What a person says of a symbol; nothing said at all is that it is right as it is. Another symbol is named by its number,
/// and where it is kept by what it is known by.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Said<T = usize> {
    /// The code of its thread.
    pub code: Option<String>,
    /// The name of its thread.
    pub name: Option<String>,
    /// The colour of its thread.
    pub colour: Option<Srgb8>,
    /// How many strands are in the needle.
    pub strands: Option<u8>,
    /// The symbol that it is the same as.
    pub same: Option<T>,
    /// Whether nothing is stitched there.
    pub bare: bool,
}

impl<T> Said<T> {
    /// The same with another way to name symbols; nothing where there is no such symbol.
    fn naming<U>(self, symbol: impl FnOnce(T) -> Option<U>) -> Option<Said<U>> {
        let Self { code, name, colour, strands, same, bare } = self;
        let same = match same {
            Some(same) => Some(symbol(same)?),
            None => None,
        };
        Some(Said { code, name, colour, strands, same, bare })
    }
}

impl Said {
    /// As the table of answers has it.
    fn answer(self, number: usize) -> Answer {
        let Self { code, name, colour, strands, same, bare } = self;
        Answer { number, code, name, colour, strands, same, bare }
    }

    /// Texts on one line, and none that is empty.
    fn tidied(mut self) -> Self {
        for text in [&mut self.code, &mut self.name] {
            let tidy =
                |text: String| Some(crate::ground::plain::lettered(&text)).filter(|text| !text.is_empty());
            *text = text.take().and_then(tidy);
        }
        self
    }
}

/// A symbol, what it is and what is asked of it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AskedSymbol {
    /// What was found of it.
    #[serde(flatten)]
    pub found: FoundSymbol,
    /// The colour under it on the paper.
    pub ground: Option<Srgb8>,
    /// Its outlines on the paper; none where it is a colour alone.
    pub printed: Vec<PrintedShape>,
    /// What is in doubt.
    pub doubts: Vec<DoubtKind>,
    /// What was said of it.
    pub said: Option<Said>,
    /// Whether somebody should say something of it.
    pub open: bool,
}

/// A chart that is being read, as far as it is known.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ReadingReport {
    /// What it is called.
    pub name: String,
    /// The piece that it became.
    pub piece: Option<PieceId>,
    /// The chart as it is drawn.
    pub look: LookReport,
    /// The document.
    #[serde(skip)]
    pub document: Vec<u8>,
    /// Its symbols, or colours where there are no symbols.
    pub symbols: Vec<AskedSymbol>,
    /// How many of them are open.
    pub open: usize,
    /// Backstitch.
    pub lines: Vec<ReadLine>,
    /// Pages of the files.
    pub pages: usize,
    /// Where those that show the chart lie on it.
    pub places: Vec<PagePlace>,
    /// How they were joined.
    pub joined: Joined,
    /// Whether codes were looked up in a card of the person's own.
    pub card: bool,
    /// What the person should know.
    pub warnings: Vec<Warning>,
}

/// Whether a person should say something: what the card lacks and what shows no colour is told, and stays as it was printed.
fn is_open(doubt: &DoubtKind, said: bool) -> bool {
    match doubt {
        DoubtKind::NotInKey => true,
        DoubtKind::NotOnCard | DoubtKind::NoColour => false,
        DoubtKind::OtherCount { .. }
        | DoubtKind::Like { .. }
        | DoubtKind::TwiceInKey
        | DoubtKind::OtherColours
        | DoubtKind::PartStitch { .. }
        | DoubtKind::SecondPart { .. } => !said,
    }
}

impl InReading {
    /// What the pages come to by all that was said, and what is still asked; kept for the list of what is being read.
    ///
    /// # Errors
    /// [`Error`].
    pub fn look(
        &self,
        pages: &OpenPages,
        card: Option<&Source>,
        progress: &dyn Progress,
    ) -> Result<ReadingReport, Error> {
        let mut files = Files::new(Replace::Ours, progress);
        let mut basket = self.basket()?;
        let reading = basket.reading(&self.id)?;
        let numbered = |sign: &String| pages.signs.iter().position(|known| known == sign).map(|at| at + 1);
        let kept = basket.answers(&self.id)?.into_iter();
        // What was said of symbols that are not found any more stays where it is.
        let mut answers: Vec<(usize, Said)> = kept
            .filter_map(|(sign, text)| {
                let said: Said<String> = serde_json::from_str(&text).ok()?;
                Some((numbered(&sign)?, said.naming(|sign| numbered(&sign))?))
            })
            .collect();
        answers.sort_by_key(|(number, _)| *number);
        let options = ReadOptions {
            title: reading.name.clone(),
            answers: answers.iter().map(|(number, said)| said.clone().answer(*number)).collect(),
            card: card.map(|card| files.card(card)).transpose()?,
        };
        let Answered { found, composed, mut doubtful, warnings } =
            answered(&mut files, &pages.shown, &options, &reading.name)?;
        let symbols: Vec<AskedSymbol> = found
            .symbols
            .into_iter()
            .map(|found| {
                let said = answers.iter().find(|(number, _)| *number == found.number);
                let doubts = doubtful.iter_mut().find(|doubt| doubt.number == found.number);
                let doubts = doubts.map(|doubt| std::mem::take(&mut doubt.doubts)).unwrap_or_default();
                AskedSymbol {
                    ground: found.ground,
                    printed: found.printed(),
                    open: doubts.iter().any(|doubt| is_open(doubt, said.is_some())),
                    said: said.map(|(_, said)| said.clone()),
                    doubts,
                    found,
                }
            })
            .collect();
        let open = symbols.iter().filter(|symbol| symbol.open).count();
        let figures = ReadingFigures {
            size: found.chart.size(),
            symbols: symbols.len() as u64,
            open: open as u64,
            picture: small_picture(&composed.chart, &composed.lines, progress)?,
        };
        basket.tell_reading(&self.id, &figures)?;
        Ok(ReadingReport {
            name: reading.name,
            piece: reading.piece,
            look: LookReport::of(&composed),
            document: found.chart.to_json().into_bytes(),
            symbols,
            open,
            lines: found.lines,
            pages: found.pages,
            places: found.places,
            joined: found.joined,
            card: options.card.is_some(),
            warnings,
        })
    }

    /// Keeps what is said of a symbol, or that nothing is said of it any more. When it returns, that is on the disk.
    ///
    /// # Errors
    /// [`Error`] where there is no such symbol, or no chart comes of it; then what was said before stays.
    pub fn answer(&self, pages: &OpenPages, number: usize, said: Option<Said>) -> Result<(), Error> {
        let sign = |number: usize| pages.signs.get(number.checked_sub(1)?).cloned();
        let said = said.map(Said::tidied);
        // What makes no chart is refused before it is kept, as it is in a table.
        if let Some(strands) = said.as_ref().and_then(|said| said.strands).filter(|n| !(1..=12).contains(n)) {
            let source = ChartError::Strands { index: number.saturating_sub(1), strands }.into();
            return Err(Error::NoChartRead { name: THE_PAGES.to_owned(), source });
        }
        let alone = said.clone().unwrap_or_default().answer(number);
        charted(&pages.shown, &ReadOptions { answers: vec![alone], ..ReadOptions::default() })?;
        let kept = said.and_then(|said| said.naming(sign));
        let text = kept.map(|kept| serde_json::to_string(&kept).unwrap_or_default());
        let mut basket = self.basket()?;
        super::backup::before_change(&mut basket, self.when, &mut Vec::new());
        let Some(sign) = sign(number) else {
            let source = ReadError::NoSuchSymbol { number, found: pages.signs.len() };
            return Err(Error::NoChartRead { name: THE_PAGES.to_owned(), source });
        };
        basket.answer(&self.id, &sign, text.as_deref(), self.when)?;
        Ok(())
    }

    /// Keeps the chart as a piece. Where it was kept before and is as it was then, what was said since goes into that piece.
    ///
    /// # Errors
    /// [`Error`]; then the workbasket is as it was.
    pub fn keep(
        &self,
        pages: &OpenPages,
        card: Option<&Source>,
        progress: &dyn Progress,
    ) -> Result<KeepReport, Error> {
        let report = self.look(pages, card, progress)?;
        let mut basket = self.basket()?;
        let reading = basket.reading(&self.id)?;
        let became = reading.piece.map(|id| basket.piece(&id)).transpose()?;
        let is_as_it_was = |piece: &crate::basket::Piece| {
            piece.chart.is_some_and(|stamp| Some(stamp.to_string()) == reading.stamp)
        };
        let request = KeepRequest {
            chart: Source::held(format!("{}.chart.json", report.name), report.document),
            photo: None,
            basket: self.folder.clone(),
            keep_as: became.filter(is_as_it_was).map_or(KeepAs::Same, |piece| KeepAs::Into(piece.id)),
            when: self.when,
            replace: Replace::Ours,
        };
        let mut kept = keep(&request, progress)?;
        let stamp = basket.piece(&kept.piece)?.chart.map(|stamp| stamp.to_string());
        basket.reading_became(&self.id, &kept.piece, &stamp.unwrap_or_default())?;
        kept.warnings.extend(report.warnings);
        Ok(kept)
    }
}

fn charted(shown: &Shown, options: &ReadOptions) -> Result<Read, Error> {
    shown.chart(options).map_err(|source| Error::NoChartRead { name: THE_PAGES.to_owned(), source })
}
