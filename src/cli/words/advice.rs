//! What to do about an error, with the options and commands that do it.

use brede::ground::advice::Advice;

/// The hint that stands under an error.
pub(in crate::cli) fn advice(advice: &Advice) -> String {
    match advice {
        Advice::ColourOf { what } => {
            format!("give it with --{what} '#rrggbb', or its place on the photo with --{what}-at x,y,w,h")
        }
        Advice::MarksThere { names } if names.is_empty() => "it has none yet".to_owned(),
        Advice::MarksThere { names } => format!("it has: {}", names.join(", ")),
        Advice::OtherFace { faces } if faces.is_empty() => {
            "none of brede's faces has it; leave it out or write it otherwise".to_owned()
        }
        Advice::OtherFace { faces } => format!("it is in: {}", faces.join(", ")),
        plain => sentence(plain).to_owned(),
    }
}

#[allow(clippy::too_many_lines, reason = "a list of sentences")]
fn sentence(advice: &Advice) -> &'static str {
    match advice {
        Advice::WriteLength => "give a number and a unit, such as 20cm, 200mm or 8in",
        Advice::WriteCount => {
            "give stitches to the inch, such as 14 or 12.5; evenweave over two threads as 28/2"
        }
        Advice::OtherSize => "ask for another size with --columns, --rows, --width or --height",
        Advice::WritePart => "give left, top, width and height, such as 100,50,800,600 or 10%,0%,80%,100%",
        Advice::PartInside => {
            "give a part of at least one pixel that lies inside, such as --crop 10%,10%,80%,80%"
        }
        Advice::PlaceInPixels => "give left,top,width,height in pixels of the upright photo",

        Advice::DoAgain => "give the command again: it then builds on what is there now",
        Advice::WaitForOther => "wait until it is done, then give the command again",
        Advice::WritablePlace => "choose a place that you may write to; what was there before is kept",
        Advice::CloseElsewhere => {
            "close the file where another program has it open, or choose a place that you may write to; what was there \
             before is kept"
        }
        Advice::MakeRoom => "make room on the disk; what was there before is kept",
        Advice::ShorterName => "give it a shorter name",
        Advice::OtherPlace => "choose another place with --out or -o; what was there before is kept",
        Advice::OtherName => "give another name for what is to be written, or move that file away first",
        Advice::AllowReplacing => {
            "give another name for what is to be written, or say --replace, which keeps what is there too"
        }
        Advice::FilesAreWritten => "files are written; only what was to be said of them is lost",

        Advice::GiveChart => "give a NAME.chart.json that brede wrote",
        Advice::EarlierCopy => {
            "use a copy kept from before (NAME.chart.earlier.json), or make the chart again from its photo"
        }
        Advice::NewerBrede => "update brede, or make the chart again with this one",
        Advice::WhenChartsAreKept => {
            "a chart is kept when brede mark changes it, or brede make writes over it"
        }
        Advice::KeptChart => "it is what brede kept of the chart",
        Advice::SimplerMasks => "take masks off that follow every cell, or part the chart into several",
        Advice::Shorten => "shorten it",
        Advice::MendOnCard => "mend it in the shade card, or leave it empty there",
        Advice::FewerMarks => "take some off, or part the chart into several",
        Advice::FewerThreads => "use fewer threads, such as those that the chart has already",
        Advice::TwelveStrands => "give 1 to 12 strands",
        Advice::OneChart => "ask for one chart at a time",
        Advice::MakeAnew => "leave --as out, and give the card and the settings again",
        Advice::SamePhoto => "give the very file that the chart was made of, not a smaller or changed copy",

        Advice::GivePicture => "give the path of a picture file",
        Advice::KnownPicture => "give a JPEG, PNG, WebP, TIFF, GIF or BMP file that opens elsewhere",
        Advice::WholeFile => {
            "copy or fetch the file again, whole; what is missing of it would be a grey patch on the chart"
        }
        Advice::FewerPixels => "make the picture smaller, or lift the limit with --max-pixels",
        Advice::SmallerPicture => "make the picture smaller, or lift the limit with --max-memory",
        Advice::SmallerJob => {
            "ask for fewer cells (--columns, --rows) or threads, give a smaller picture or card, or lift the limit with \
             --max-memory"
        }
        Advice::SomethingOpaque => "give a picture with something opaque in it, or another --crop",

        Advice::GiveCard => "give a CSV file with the columns code,name,colour",
        Advice::SaveAsUtf8 => "in the spreadsheet, save it again as CSV and choose UTF-8",
        Advice::NameColumns => {
            "the first row names the columns: code,name,colour (or L,a,b for colour), and if you like \
             price,length_m,strands,owned,kind; a row a thread follows"
        }
        Advice::FewerShades => "leave out the threads that you do not mean to use",
        Advice::QuoteField => "put quotes round a field that holds the separator",
        Advice::WriteColour => "write a colour as #rrggbb, such as #2f6f8f",
        Advice::MendField => "mend the field, or leave it empty if the column is optional",
        Advice::OwnCodes => "give each thread a code of its own",
        Advice::CodeOfCard => "give the code as the card's column `code` has it",

        Advice::AllowThread => "allow at least one thread of the shade card",
        Advice::TwoColours => "ask for two colours or more",
        Advice::MoreColours => "ask for more colours, or name fewer threads that must be used",
        Advice::LookAtColours => "look at the colour's values in the file",
        Advice::PaintDetail => {
            "give --detail a part of the picture, or a copy of it painted white there and black elsewhere"
        }
        Advice::TwoStrands => "ask for --strands 2, or leave --blends out",

        Advice::PixelACell => "give a picture with one pixel for each cell, 4 to 2000 a side",
        Advice::NotExact => {
            "it may be a photo, or a drawing with smoothed edges: make it without --exact, or save it without \
             smoothing and not as JPEG"
        }
        Advice::LargerCard => "use a larger card, or a picture with fewer colours",
        Advice::SomethingStitched => "bare cells are clear pixels, or empty fields; everything here is bare",
        Advice::GiveTable => "give a table with one code a cell",
        Advice::EvenTable => "give one line a row and one code a cell, all lines as long",
        Advice::CodesOfTable => "give the codes of the card in --shades; an empty field is bare cloth",

        Advice::GiveMeasures => "give a TOML file with strand_tex and flattening",
        Advice::WriteMeasures => {
            "write lines such as strand_tex = 33.0, flattening = 3.0 and bare_holes = 0.02; what is left out stays as it is"
        }
        Advice::CountOfSwatch => "give it, such as --count 14",
        Advice::PlaceOfStitches => "give the place of the stitches with --part left,top,width,height",
        Advice::ContrastingSwatch => {
            "stitch the swatch in a thread much darker or much lighter than its cloth"
        }
        Advice::SharperSwatch => {
            "take it nearer and sharp, ten pixels to a stitch at the least, and give the place of the stitches with --part; \
             check the colours; where all is covered, --holes measures the holes"
        }
        Advice::ShareHidden => {
            "give the share of the cloth that is hidden in per cent, such as --measured 75"
        }
        Advice::ThinnerSwatch => {
            "stitch the swatch with fewer strands, on coarser cloth or in half crosses; a covered one tells the holes, \
             with --holes"
        }
        Advice::CheckSwatch => {
            "look at count, strands, stitch and colours again: one of them is not as given"
        }
        Advice::HolesOnlyWhenThick => {
            "give --holes only with a swatch so thick that nothing but the holes is bare"
        }

        Advice::NearerGrid => "take the photo nearer, or give the grid's place with --grid",
        Advice::LightPaper => "give the place of the white paper with --paper, and light it well",
        Advice::LessExposure => "take the photo again with less exposure, so that the paper is light grey",
        Advice::LineAThread => "write a line a thread, row by row: the code, a comma and the name",

        Advice::SymbolsInGrey => "leave --ink grey out, or print the symbols",
        Advice::UsualCell => "ask for something like --cell 3mm",
        Advice::LargerPaper => "use larger paper (--paper a3) or smaller cells (--cell 2.5mm)",
        Advice::SymbolNames => {
            "brede print CHART -o pages.pdf --symbol-names names.pdf shows all symbols with their names"
        }

        Advice::GivePages => "give the PDF that `brede make` or `brede print` wrote",
        Advice::ChartOfPages => {
            "give the chart that these pages were printed from, or print it again with `brede print`"
        }
        Advice::PrintAgain => "print the chart again: `brede print CHART -o FILE.pdf`, without --tablet",
        Advice::LowerResolution => "ask for a lower --dpi, or print on smaller paper",
        Advice::FreeThreads => "end other programs, or lift the limit on threads or memory, and start again",
        Advice::UsualResolution => "ask for something like --dpi 150",
        Advice::HigherResolution => "try a higher --dpi, or print with larger cells (--cell 3mm)",
        Advice::PrintLarger => {
            "print this chart again with `brede print`; larger cells (--cell 3mm) are easier to read, and `brede proof \
             --picture` shows where"
        }

        Advice::OwnNames => "give each mark a name of its own",
        Advice::OtherNameOrChange => "choose another name, or use brede mark CHART change NAME",
        Advice::SettingsOfMark => "brede mark --help shows what each kind of mark takes",
        Advice::PlaceOfKey => {
            "give it another place with brede mark CHART change NAME --place above, beside or below, or --key-at COLUMN,ROW"
        }
        Advice::LookAtEarlier => {
            "the chart is as it began; what was written over last lies beside it as NAME.chart.earlier.json"
        }
        Advice::UndoFirst => "undo something first; a new change takes the place of what was undone",
        Advice::GoOnFromHere => {
            "go on from what is there: new changes can be undone; NAME.chart.earlier.json is what was written over last"
        }
        Advice::OtherCells => "choose other cells with brede mark CHART change NAME",
        Advice::AddThread => "the area keeps its threads; --add lays another with them",
        Advice::CountFromOne => "count columns and rows from 1 at the top left, as the rulers do",
        Advice::ThreadOfKey => "give a code or name as the chart's key has it",
        Advice::ThreeCorners => "give three corners at least",
        Advice::MaskOfChart => "make the mask of a picture with one pixel for each cell of this chart",
        Advice::SaveMask => {
            "save the mask as PNG with one pixel a cell: white (or opaque) is within, black (or clear) is not"
        }
        Advice::AddWithPicture => "add the mark with brede mark, which reads the picture",
        Advice::UsualStitchLength => "leave it at 3: longer stitches snag",
        Advice::DrawLetters => "draw the letters as a picture with one pixel a cell and use it as a mask",
        Advice::PartText => "shorten it, or part it into several marks",
        Advice::StrandsOfLine => "give 1 or 2 strands for a line",
        Advice::StrandAThread => "give a strand for each thread, or leave the blend out of the choice",
        Advice::SayHow => "give --stitch, --strands or --add",
        Advice::SayHowInFile => {
            "give it one of them, such as stitch = 'half-cross', strands = 1 or add = 'M01'"
        }
        Advice::ChooseCells => {
            "choose with --at, --needle, --rectangle, --ellipse, --polygon, --mask or --stitched; --show PNG shows what is chosen"
        }
        Advice::GiveMarks => "give a TOML file of marks; brede mark --help shows one",
        Advice::ExampleOfMarks => "brede mark --help shows a file of marks to begin from",
        Advice::NameThread => {
            "give a code or a name from the card, such as P12; strands as `2 of P12`; a blend as `1 of P12 + 1 of P40`; \
             and the card itself with --shades"
        }

        Advice::GiveOwned => "give a CSV file with the columns code,owned, such as S01,2",
        Advice::LongerNeedleful => "cut longer lengths, such as --needleful 50cm",
        Advice::LeaveOutlinesOut => {
            "leave it out: its lines stand on the chart pages, and the key says how long they are"
        }
        // Worded above, with their fields.
        Advice::ColourOf { .. } | Advice::MarksThere { .. } | Advice::OtherFace { .. } => "",
    }
}
