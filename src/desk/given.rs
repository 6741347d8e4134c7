//! What operations are given, read and checked.

use super::files::Files;
use super::make::KeptCover;
use super::{Error, Source, Wanted};
use crate::chart::Chart;
use crate::ground::progress::Progress;
use crate::making::photo::{Limits, Photo};
use crate::thread::cloth::CoverModel;
use crate::thread::shades::ShadeCard;

impl Files {
    /// A chart.
    pub(super) fn chart(&mut self, source: &Source) -> Result<Chart, Error> {
        let bytes = self.bytes(source, Wanted::Chart)?;
        Chart::from_json(&bytes).map_err(|error| Error::Chart { name: source.to_string(), source: error })
    }

    /// A photo, within limits.
    pub(super) fn photo(
        &mut self,
        source: &Source,
        limits: &Limits,
        _progress: &dyn Progress,
    ) -> Result<Photo, Error> {
        Ok(match source {
            Source::Path(path) => {
                self.was_read(path);
                Photo::open(path, limits)?
            }
            Source::Input => Photo::from_stream("standard input", std::io::stdin().lock(), limits)?,
            Source::Held { bytes, .. } => Photo::read(&source.file_name(), bytes, limits)?,
        })
    }

    /// A shade card.
    pub(super) fn card(&mut self, source: &Source) -> Result<ShadeCard, Error> {
        let bytes = self.bytes(source, Wanted::Card)?;
        ShadeCard::read(&source.stem(), &bytes)
            .map_err(|error| Error::Card { name: source.to_string(), source: error })
    }

    /// Measures of how thread covers.
    pub(super) fn cover(&mut self, source: &Source) -> Result<KeptCover, Error> {
        let text = self.text(source, Wanted::Cover)?;
        let measures = CoverModel::from_toml(&text)
            .map_err(|error| Error::Cover { name: source.to_string(), source: error })?;
        Ok(KeptCover { name: source.file_name(), measures })
    }
}
