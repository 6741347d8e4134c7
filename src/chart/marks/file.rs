//! Marks from a TOML file, and threads from the way a person writes them.

use image::buffer::ConvertBuffer;
use image::{GrayAlphaImage, RgbaImage};

use super::choose::mask_rows;
use super::region::Region;
use crate::chart::mark::{Needed, PickedCells};
use crate::chart::{Chart, Mark, Thread};
use crate::ground::advice::Advice;
use crate::ground::units::GridSize;
use crate::thread::code;
use crate::thread::shades::ShadeCard;

/// Marks as they stand in a file: threads are texts, masks are names of pictures.
#[derive(Debug, Clone, PartialEq)]
pub struct MarkFile {
    /// The marks, lowest first.
    pub marks: Vec<Mark<String>>,
}

/// What is wrong with a file of marks.
#[derive(Debug, thiserror::Error)]
pub enum FileError {
    /// Not TOML.
    #[error("this is not a file of marks that brede can read")]
    Toml(#[from] toml::de::Error),
    /// Something else than marks.
    #[error("`{key}` is not known here; a file of marks has only [[mark]] tables")]
    Key {
        /// The key.
        key: String,
    },
    /// A mark that cannot be read.
    #[error("mark {number}{}", name.as_ref().map(|name| format!(" (`{name}`)")).unwrap_or_default())]
    Mark {
        /// From 1.
        number: usize,
        /// Its name, where it has one.
        name: Option<String>,
        /// Why.
        source: Box<toml::de::Error>,
    },
    /// A thread that is not known.
    #[error("mark `{mark}`")]
    Thread {
        /// The mark.
        mark: String,
        /// Why.
        source: ThreadError,
    },
    /// A picture that cannot be read as a mask.
    #[error("mark `{mark}`: could not read the painted picture {path}")]
    MaskPicture {
        /// The mark.
        mark: String,
        /// The file.
        path: String,
        /// Why.
        source: Box<dyn std::error::Error + Send + Sync>,
    },
    /// A mask of another size than the chart.
    #[error("mark `{mark}`: the picture {path} has {} x {} pixels; the chart has {size} squares", found[0], found[1])]
    MaskSize {
        /// The mark.
        mark: String,
        /// The file.
        path: String,
        /// Its width and height.
        found: [u32; 2],
        /// The chart.
        size: GridSize,
    },
}

impl FileError {
    /// What to do about it.
    #[must_use]
    pub fn advice(&self) -> Advice {
        match self {
            Self::Toml(_) | Self::Key { .. } | Self::Mark { .. } => Advice::ExampleOfMarks,
            Self::Thread { source, .. } => source.advice(),
            Self::MaskPicture { .. } | Self::MaskSize { .. } => Advice::SaveMask,
        }
    }
}

impl MarkFile {
    /// The marks of a TOML text: `[[mark]]` tables with a `kind` of outline, halo, lettering, key or stitches.
    ///
    /// # Errors
    /// [`FileError`] names the mark and the key at fault.
    pub fn parse(text: &str) -> Result<Self, FileError> {
        let table: toml::Table = text.parse()?;
        let mut marks = Vec::new();
        for (key, value) in table {
            let (true, toml::Value::Array(values)) = (key == "mark", value) else {
                return Err(FileError::Key { key });
            };
            for (index, value) in values.into_iter().enumerate() {
                let name = value.get("name").and_then(|name| name.as_str()).map(str::to_owned);
                let fail = |source| FileError::Mark { number: index + 1, name, source: Box::new(source) };
                marks.push(value.try_into().map_err(fail)?);
            }
        }
        Ok(Self { marks })
    }

    /// The marks for a chart: threads found, masks taken. `read` gives the picture of a mask.
    ///
    /// # Errors
    /// [`FileError`] names the mark, and the thread or mask at fault.
    pub fn resolve(
        self,
        threads: &Resolver,
        size: GridSize,
        mut read: impl FnMut(&str) -> Result<RgbaImage, Box<dyn std::error::Error + Send + Sync>>,
    ) -> Result<Vec<Mark>, FileError> {
        self.marks
            .into_iter()
            .map(|mark| {
                let name = mark.name().to_owned();
                let mut mark = mark.with_threads(|text, needed| {
                    threads
                        .threads(&text, needed)
                        .map_err(|source| FileError::Thread { mark: name.clone(), source })
                })?;
                for pick in mark.motif_mut().into_iter().flat_map(|motif| &mut motif.pick) {
                    if let PickedCells::MaskFile(path) = &pick.cells {
                        let picture = read(path).map_err(|source| {
                            let (mark, path) = (name.clone(), path.clone());
                            FileError::MaskPicture { mark, path, source }
                        })?;
                        let found = [picture.width(), picture.height()];
                        if found != [size.columns(), size.rows()] {
                            let (mark, path) = (name.clone(), path.clone());
                            return Err(FileError::MaskSize { mark, path, found, size });
                        }
                        pick.cells = PickedCells::Mask(mask_of(&picture, size));
                    }
                }
                Ok(mark)
            })
            .collect()
    }
}

/// The rows of a mask from a picture of the chart's size: opaque is within where the picture has anything clear,
/// else light.
fn mask_of(picture: &RgbaImage, size: GridSize) -> Vec<String> {
    let pixels = ConvertBuffer::<GrayAlphaImage>::convert(picture);
    let has_clear = pixels.pixels().any(|pixel| pixel.0[1] < 128);
    let region = Region::of([0, 0], [size.columns(), size.rows()], |x, y| {
        let [light, opaque] = pixels.get_pixel(x as u32, y as u32).0;
        if has_clear { opaque >= 128 } else { light >= 128 }
    });
    mask_rows(&region, size.height())
}

/// A thread that cannot be found or threaded.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ThreadError {
    /// Neither a code nor a name.
    #[error("neither the chart nor the shade card has a thread `{text}`")]
    Unknown {
        /// What was given.
        text: String,
    },
    /// Strands that cannot be.
    #[error("`{text}`: a needle takes 1 to 12 strands")]
    Strands {
        /// What was given.
        text: String,
    },
}

impl ThreadError {
    /// What to do about it.
    #[must_use]
    pub fn advice(&self) -> Advice {
        Advice::NameThread
    }
}

/// Finds threads by code or name: first those of the chart's needles, then those of a card that was given, those of the
/// chart's marks and of the card that the chart was made from.
#[derive(Debug)]
pub struct Resolver<'a> {
    chart: &'a Chart,
    card: Option<&'a ShadeCard>,
    last: Option<&'a ShadeCard>,
}

impl<'a> Resolver<'a> {
    /// Looks in a chart and a card.
    #[must_use]
    pub fn new(chart: &'a Chart, card: &'a ShadeCard) -> Self {
        Self { chart, card: Some(card), last: None }
    }

    /// Looks in a chart, and where it knows no such thread in a card that stands for none.
    #[must_use]
    pub fn of_chart(chart: &'a Chart, last: &'a ShadeCard) -> Self {
        Self { chart, card: None, last: Some(last) }
    }

    fn find(&self, text: &str) -> Option<Thread> {
        let name = text.to_lowercase();
        self.found(|own, _| code::same(own, text)).or_else(|| self.found(|_, own| own.to_lowercase() == name))
    }

    fn found(&self, is: impl Fn(&str, &str) -> bool) -> Option<Thread> {
        let thread = |thread: &Thread| is(&thread.code, &thread.name).then(|| thread.clone());
        let of_card = |card: Option<&ShadeCard>| {
            let shade = card?.shades().iter().find(|shade| is(&shade.code, &shade.name))?;
            Some(Thread::of(shade, 1))
        };
        let of_marks = || {
            let mut found = None;
            for mark in &self.chart.marks {
                mark.each_thread(|one| found = thread(one).or(found.take()));
            }
            found
        };
        let mut needles = self.chart.needles().iter().flat_map(|needle| &needle.threads);
        needles
            .find_map(thread)
            .or_else(|| of_card(self.card))
            .or_else(of_marks)
            .or_else(|| of_card(self.chart.card.as_ref()))
            .or_else(|| of_card(self.last))
    }

    /// The threads that a text names: `P12`, `2 of P12`, `1 of P12 + 1 of Vivid Pink`. Where no strands are
    /// given, one for a line and as many as the chart's first needle for crosses.
    ///
    /// # Errors
    /// [`ThreadError`] when a thread is not known or strands cannot be.
    pub fn threads(&self, text: &str, needed: Needed) -> Result<Vec<Thread>, ThreadError> {
        let usual = match needed {
            Needed::Line | Needed::Strand => 1,
            Needed::Crosses => self.chart.needles().first().map_or(2, crate::chart::Needle::strands),
        };
        self.with_strands(text, usual)
    }

    /// The same, with so many strands where the text gives none.
    ///
    /// # Errors
    /// [`ThreadError`] when a thread is not known or strands cannot be.
    pub fn with_strands(&self, text: &str, usual: u8) -> Result<Vec<Thread>, ThreadError> {
        parse_thread(text, usual, |text| self.find(text))
    }
}

/// Reads a text such as `2 of P12 + 1 of M03`, with `find` to look each thread up. A thread whose code or name
/// is the whole text is taken first, so that codes may hold any sign.
///
/// # Errors
/// [`ThreadError`] when a thread is not known or strands cannot be.
pub fn parse_thread(
    text: &str,
    usual: u8,
    find: impl Fn(&str) -> Option<Thread>,
) -> Result<Vec<Thread>, ThreadError> {
    let text = text.trim();
    if let Some(thread) = find(text) {
        return Ok(vec![Thread { strands: usual, ..thread }]);
    }
    let parts: Vec<&str> = text.split(" + ").map(str::trim).collect();
    let blend = parts.len() > 1;
    let mut threads = Vec::new();
    for part in parts {
        let (strands, name) = match part.split_once(" of ") {
            Some((number, name)) if number.trim().chars().all(|c| c.is_ascii_digit()) => {
                let strands = number.trim().parse::<u8>().ok().filter(|strands| (1..=12).contains(strands));
                (strands.ok_or_else(|| ThreadError::Strands { text: part.into() })?, name.trim())
            }
            _ => (if blend { 1 } else { usual }, part),
        };
        let thread = find(name).ok_or_else(|| ThreadError::Unknown { text: name.into() })?;
        threads.push(Thread { strands, ..thread });
    }
    if threads.iter().map(|thread| u16::from(thread.strands)).sum::<u16>() > 12 {
        return Err(ThreadError::Strands { text: text.into() });
    }
    Ok(threads)
}
