//! Files that are no picture that brede reads, told by how they begin.

use crate::ground::advice::Advice;

/// What a file is that cannot be read as a picture.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Other {
    /// A photo in HEIF with HEVC, as phones take them (ISO/IEC 23008-12).
    Heic,
    /// A picture in AVIF.
    Avif,
    /// A picture in JPEG XL (ISO/IEC 18181).
    JpegXl,
    /// A PDF (ISO 32000-1).
    Pdf,
    /// A drawing in SVG.
    Svg,
    /// A chart document.
    Chart,
    /// A film (ISO/IEC 14496-12).
    Film,
}

/// Brands of files in boxes (ISO/IEC 14496-12, 4.3; 23008-12, annex B; the AVIF specification, 6.2).
const BRANDS: [(&[u8], Other); 12] = [
    (b"heic", Other::Heic),
    (b"heix", Other::Heic),
    (b"heim", Other::Heic),
    (b"heis", Other::Heic),
    (b"hevc", Other::Heic),
    (b"hevx", Other::Heic),
    (b"avif", Other::Avif),
    (b"avis", Other::Avif),
    (b"mif1", Other::Heic),
    (b"msf1", Other::Heic),
    (b"isom", Other::Film),
    (b"mp42", Other::Film),
];

impl Other {
    /// What bytes are, where they are something else than a picture that can be read.
    #[must_use]
    pub fn of(bytes: &[u8]) -> Option<Self> {
        let begins = |start: &[u8]| bytes.starts_with(start);
        if let (Some(b"ftyp"), Some(brand)) = (bytes.get(4..8), bytes.get(8..12)) {
            return Some(Self::of_brands(brand, bytes));
        }
        if image::guess_format(bytes).is_ok() {
            return None;
        }
        let start = bytes.get(..bytes.len().min(1024)).unwrap_or_default();
        let holds = |text: &[u8]| start.windows(text.len()).any(|part| part == text);
        // A PDF may stand behind a few other bytes (ISO 32000-1, annex H.3.4.1).
        if holds(b"%PDF-") {
            Some(Self::Pdf)
        } else if begins(b"\xff\x0a") || begins(b"\0\0\0\x0cJXL ") {
            Some(Self::JpegXl)
        } else if holds(b"\"brede_chart\"") {
            Some(Self::Chart)
        } else if holds(b"<svg") {
            Some(Self::Svg)
        } else {
            None
        }
    }

    /// By the main brand, or by one of those that stand behind it: the general ones say little.
    fn of_brands(main: &[u8], bytes: &[u8]) -> Self {
        let known = |brand: &[u8]| BRANDS.iter().find(|(known, _)| *known == brand).map(|(_, kind)| *kind);
        let others = bytes.get(16..64.min(bytes.len())).unwrap_or_default().chunks_exact(4);
        let is_avif =
            known(main) == Some(Self::Avif) || others.clone().any(|brand| known(brand) == Some(Self::Avif));
        match known(main) {
            Some(Self::Heic) if is_avif && matches!(main, b"mif1" | b"msf1") => Self::Avif,
            Some(kind) => kind,
            None => others.filter_map(known).next().unwrap_or(Self::Film),
        }
    }

    /// What to do about it.
    #[must_use]
    pub fn advice(self) -> Advice {
        match self {
            Self::Heic | Self::Avif | Self::JpegXl => Advice::SaveAsJpeg,
            Self::Pdf => Advice::PageAsPicture,
            Self::Svg => Advice::SaveAsPng,
            Self::Chart => Advice::ChartIsThere,
            Self::Film => Advice::KnownPicture,
        }
    }
}

impl std::fmt::Display for Other {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::Heic => "a HEIC photo",
            Self::Avif => "an AVIF picture",
            Self::JpegXl => "a JPEG XL picture",
            Self::Pdf => "a PDF, not a picture",
            Self::Svg => "a drawing in SVG",
            Self::Chart => "a chart already, not a picture",
            Self::Film => "a film, or a picture of a kind that brede does not read",
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn files_that_are_no_pictures_are_told_by_how_they_begin() {
        for (bytes, kind) in [
            (b"\0\0\0\x18ftypheic\0\0\0\0mif1heic".as_slice(), Some(Other::Heic)),
            (b"\0\0\0\x1cftypmif1\0\0\0\0mif1heicmiaf", Some(Other::Heic)),
            (b"\0\0\0\x1cftypmif1\0\0\0\0avifmif1miaf", Some(Other::Avif)),
            (b"\0\0\0\x1cftypavif\0\0\0\0avifmif1miaf", Some(Other::Avif)),
            (b"\0\0\0\x18ftypqt  \0\0\0\0qt  ", Some(Other::Film)),
            (b"%PDF-1.7\n", Some(Other::Pdf)),
            (b"\xff\x0a\xfa\x1f", Some(Other::JpegXl)),
            (b"<?xml version=\"1.0\"?><svg width=\"3\"/>", Some(Other::Svg)),
            (b"{\"brede_chart\":2", Some(Other::Chart)),
            (b"\x89PNG\r\n\x1a\n", None),
            (b"", None),
        ] {
            assert_eq!(Other::of(bytes), kind, "{bytes:?}");
        }
    }
}
