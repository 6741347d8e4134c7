//! What operations are given, read and checked.

use super::files::Files;
use super::make::KeptCover;
use super::{Error, Source, Wanted, Warning};
use crate::chart::Chart;
use crate::ground::progress::Progress;
use crate::making::photo::Photo;
use crate::thread::cloth::CoverModel;
use crate::thread::shades::ShadeCard;

impl Files<'_> {
    /// A chart.
    pub(super) fn chart(&mut self, source: &Source) -> Result<Chart, Error> {
        let bytes = self.bytes(source, Wanted::Chart)?;
        self.opened(source, &bytes)
    }

    /// A chart whose bytes were read.
    pub(super) fn opened(&mut self, source: &Source, bytes: &[u8]) -> Result<Chart, Error> {
        let name = || source.to_string();
        let opened = Chart::open(bytes).map_err(|error| Error::Chart { name: name(), source: error })?;
        self.warnings.extend(opened.notes.into_iter().map(|note| Warning::Opened { chart: name(), note }));
        self.belong_to(&opened.chart);
        Ok(opened.chart)
    }

    /// A photo, within limits.
    pub(super) fn photo(&mut self, source: &Source, progress: &dyn Progress) -> Result<Photo, Error> {
        let limits = &self.limits.clone();
        let photo = match source {
            Source::Path(path) => {
                self.was_read(path);
                Photo::open(path, limits, progress)?
            }
            Source::Input => Photo::from_stream("standard input", std::io::stdin().lock(), limits, progress)?,
            // A piece is no picture; what is said of it is that it is none.
            Source::Piece(_) => Photo::read(&source.file_name(), &[], limits, progress)?,
            Source::Held { bytes, .. } => Photo::read(&source.file_name(), bytes, limits, progress)?,
        };
        self.warnings.extend(photo.warnings().iter().copied().map(Warning::from));
        Ok(photo)
    }

    /// A shade card.
    pub(super) fn card(&mut self, source: &Source) -> Result<ShadeCard, Error> {
        let bytes = self.bytes(source, Wanted::Card)?;
        let card = ShadeCard::read(&source.stem(), &bytes)
            .map_err(|error| Error::Card { name: source.to_string(), source: error })?;
        self.warnings.extend(
            card.warnings()
                .iter()
                .map(|warning| Warning::Card { card: source.to_string(), warning: warning.clone() }),
        );
        Ok(card)
    }

    /// The card that is used: one's own, else the demonstration card.
    pub(super) fn card_or_demonstration(&mut self, source: Option<&Source>) -> Result<ShadeCard, Error> {
        let Some(source) = source else {
            self.warnings.push(Warning::DemonstrationCard);
            return Ok(ShadeCard::demonstration());
        };
        self.card(source)
    }

    /// Measures of how thread covers.
    pub(super) fn cover(&mut self, source: &Source) -> Result<KeptCover, Error> {
        let text = self.text(source, Wanted::Cover)?;
        let measures = CoverModel::from_toml(&text)
            .map_err(|error| Error::Cover { name: source.to_string(), source: error })?;
        Ok(KeptCover { name: source.file_name(), measures })
    }
}
