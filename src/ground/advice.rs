//! What a person can do about something that went wrong.
//!
//! Owns the list: a variant for each thing that can be done. It speaks of settings, files and photos, never of an
//! option, a command or a field of a page: each face words it with what it has.

use serde::Serialize;

/// Something to do.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "do", rename_all = "kebab-case")]
pub enum Advice {
    // Numbers and sizes.
    /// Write a length as a number and a unit.
    WriteLength,
    /// Write a count of cloth in stitches to the inch.
    WriteCount,
    /// Ask for a chart of another size.
    OtherSize,
    /// Write a part of a picture as left, top, width and height, in pixels or per cent.
    WritePart,
    /// Ask for a part that lies inside the picture.
    PartInside,
    /// Write a place in a picture as across and down, in pixels or per cent, inside the part that is used.
    WriteSpot,
    /// Write a place on a photo as left, top, width and height in pixels of the upright photo.
    PlaceInPixels,

    // Files.
    /// Do it again: it then builds on what is there now.
    DoAgain,
    /// Wait until another brede is done.
    WaitForOther,
    /// Choose a place that may be written to.
    WritablePlace,
    /// Close the file where another program has it open, or choose a place that may be written to.
    CloseElsewhere,
    /// Make room on the disk.
    MakeRoom,
    /// Give a shorter name.
    ShorterName,
    /// Give a name that every disk takes.
    PlainName,
    /// Choose another place to write to.
    OtherPlace,
    /// Give another name for what is to be written, or move the file that is there.
    OtherName,
    /// Say that what is there may be replaced, or choose another name.
    AllowReplacing,
    /// Nothing is to be done: only what was to be said is lost.
    FilesAreWritten,

    // Charts.
    /// Give a chart that brede wrote.
    GiveChart,
    /// Use a copy from before, or make the chart again from its photo.
    EarlierCopy,
    /// Use a newer brede, or make the chart again with this one.
    NewerBrede,
    /// A chart is kept when it is changed or written over.
    WhenChartsAreKept,
    /// What is kept beside a chart must be a chart.
    KeptChart,
    /// Take off masks that follow every cell, or part the chart.
    SimplerMasks,
    /// Shorten a text.
    Shorten,
    /// Write a name on one line.
    OneLine,
    /// Mend it on the shade card, or leave it empty there.
    MendOnCard,
    /// Take some marks off, or part the chart.
    FewerMarks,
    /// Use fewer threads.
    FewerThreads,
    /// Give 1 to 12 strands.
    TwelveStrands,
    /// Ask for one chart at a time.
    OneChart,
    /// Make the chart from the picture with settings of one's own.
    MakeAnew,
    /// Give the very picture that the chart was made of.
    SamePhoto,

    // Pictures.
    /// Give the path of a picture file.
    GivePicture,
    /// Give a picture file of a kind that brede reads.
    KnownPicture,
    /// Save the photo as JPEG, or let the camera take such.
    SaveAsJpeg,
    /// Use the chart that the page was printed from, or make a picture of the page.
    PageAsPicture,
    /// Save the drawing as PNG.
    SaveAsPng,
    /// Use the chart as it is.
    ChartIsThere,
    /// Copy or fetch the file again, whole.
    WholeFile,
    /// Make the picture smaller, or lift the limit on pixels.
    FewerPixels,
    /// Make the picture smaller, or lift the limit on memory.
    SmallerPicture,
    /// Ask for fewer cells or threads, give a smaller picture or card, or lift the limit on memory.
    SmallerJob,
    /// Lift the limit on memory, or ask for less at once.
    LessOrMoreMemory,
    /// Give a picture with something opaque in it, or use another part.
    SomethingOpaque,

    // The workbasket.
    /// Keep a chart in it first.
    KeepFirst,
    /// Another port, or none: then the system gives one.
    OtherPort,
    /// Choose another folder for it, on this machine, that may be written to.
    OtherBasket,
    /// Use a newer brede.
    UpdateBrede,
    /// Bring a backup back.
    BringBack,
    /// Ask for one of the pieces that there are.
    PiecesThere {
        /// Their ids and names.
        pieces: Vec<String>,
    },
    /// Count columns and rows as the rulers of the chart do.
    CountOnRulers,
    /// Say how long a sitting was.
    SayMinutes,
    /// Say what the columns of a table of days are called.
    NameDiaryColumns,
    /// Print the piece, so that its pages are known.
    PrintPiece,
    /// Ask for a page that shows a part of the chart.
    PageOfChart,
    /// Keep the chart of the piece first.
    KeepChart,
    /// Agree to take stitches out again, or leave the chart as it is.
    AgreeToUnpick,
    /// Keep the chart as a piece of its own.
    KeepAsNew,
    /// Ask for one of the backups that there are.
    BackupsThere {
        /// What they are called.
        there: Vec<String>,
    },

    // Shade cards.
    /// Give a shade card.
    GiveCard,
    /// Save the card as UTF-8.
    SaveAsUtf8,
    /// Name the columns of the card in its first row.
    NameColumns,
    /// Leave out threads that are not meant to be used.
    FewerShades,
    /// Put quotes round a field that holds the separator.
    QuoteField,
    /// Write a colour as `#rrggbb`.
    WriteColour,
    /// Mend the field, or leave it empty.
    MendField,
    /// Give each thread a code of its own.
    OwnCodes,
    /// Give a code as the card has it.
    CodeOfCard,

    // Choosing threads.
    /// Allow at least one thread.
    AllowThread,
    /// Ask for two colours or more.
    TwoColours,
    /// Ask for more colours, or for fewer threads that must be used.
    MoreColours,
    /// Look at the colour's values in the file.
    LookAtColours,
    /// Protect a part of the picture, or give a copy of it painted white there and black elsewhere.
    PaintDetail,
    /// Take a larger piece of cloth, leave less of it at the sides, or ask for another count or size.
    LargerCloth,
    /// Ask for two strands, or for no blends.
    TwoStrands,

    // Charts that are taken as they are.
    /// Give a picture with one pixel a cell.
    PixelACell,
    /// Make it from the picture rather than cell by cell, or save it without smoothing.
    NotExact,
    /// Use a larger card, or a picture with fewer colours.
    LargerCard,
    /// Give something that is not bare.
    SomethingStitched,
    /// Give a table with one code a cell.
    GiveTable,
    /// Give one line a row and one code a cell, all as long.
    EvenTable,
    /// Give the codes of the card that is used.
    CodesOfTable,

    // How thread covers.
    /// Give a file of measures.
    GiveMeasures,
    /// Write the measures line by line.
    WriteMeasures,
    /// Say the count of the swatch's cloth.
    CountOfSwatch,
    /// Say the colour, or where on the photo it is seen.
    ColourOf {
        /// `thread` or `cloth`.
        what: String,
    },
    /// Say where on the photo the stitches are.
    PlaceOfStitches,
    /// Stitch the swatch in a thread much darker or lighter than its cloth.
    ContrastingSwatch,
    /// Take the photo nearer and sharp, say where the stitches are, check the colours.
    SharperSwatch,
    /// Give the share of the cloth that is hidden in per cent.
    ShareHidden,
    /// Stitch the swatch with less thread, or measure the holes.
    ThinnerSwatch,
    /// Look again at what was said of the swatch.
    CheckSwatch,
    /// Measure holes only with a swatch so thick that nothing else is bare.
    HolesOnlyWhenThick,

    // Cards from photos.
    /// Take the photo nearer, or say where the grid is.
    NearerGrid,
    /// Say where the white paper is, and light it well.
    LightPaper,
    /// Take the photo again with less exposure.
    LessExposure,
    /// Write a line a thread, row by row.
    LineAThread,

    // Pages.
    /// Leave out grey ink, or print the symbols.
    SymbolsInGrey,
    /// Ask for cells of a usual size.
    UsualCell,
    /// Use larger paper or smaller cells.
    LargerPaper,
    /// Look at the sheet of all symbols with their names.
    SymbolNames,

    // Proof.
    /// Give pages that brede printed.
    GivePages,
    /// Give the chart that the pages were printed from, or print it again.
    ChartOfPages,
    /// Print the chart again, on paper.
    PrintAgain,
    /// Read at a lower resolution, or print on smaller paper.
    LowerResolution,
    /// End other programs, or lift a limit of the system.
    FreeThreads,
    /// Read at a usual resolution.
    UsualResolution,
    /// Read at a higher resolution, or print larger cells.
    HigherResolution,
    /// Print the chart again in larger cells; the picture of the proof shows where it was misread.
    PrintLarger,

    // Charts that were printed elsewhere.
    /// Give only the pages of the chart and its key.
    PagesOfChart,
    /// Take the password off the file first, with the program or the seller that it came from.
    UnlockFirst,
    /// Ask for the chart as a file with drawn pages.
    DrawnPages,
    /// Give a chart for cross stitch.
    CrossStitchChart,
    /// Say how many columns and rows the whole chart has.
    SayColumnsAndRows,
    /// Number symbols as they stand in the picture of symbols that were found.
    NumbersOfFound,
    /// Say which symbols are the same.
    SameSymbols,
    /// Mend the row of answers.
    MendAnswers,

    // Marks.
    /// Give each mark a name of its own.
    OwnNames,
    /// Choose another name, or change the mark that has it.
    OtherNameOrChange,
    /// The marks that there are.
    MarksThere {
        /// Their names.
        names: Vec<String>,
    },
    /// Look at which settings each kind of mark takes.
    SettingsOfMark,
    /// Give the key another place.
    PlaceOfKey,
    /// Choose other cells for the mark.
    OtherCells,
    /// Add a thread rather than change those of the area.
    AddThread,
    /// Count columns and rows from 1 at the top left.
    CountFromOne,
    /// Give a code or a name as the chart's key has it.
    ThreadOfKey,
    /// Give three corners at least.
    ThreeCorners,
    /// Make the mask of a picture with one pixel a cell of this chart.
    MaskOfChart,
    /// Save the mask as PNG, one pixel a cell.
    SaveMask,
    /// Add the mark with its picture.
    AddWithPicture,
    /// Leave the longest stitch as it usually is.
    UsualStitchLength,
    /// Use a face that has the character.
    OtherFace {
        /// The faces that have it; none where no face has.
        faces: Vec<String>,
    },
    /// Draw the letters as a picture and use it as a mask.
    DrawLetters,
    /// Shorten the text, or part it into several marks.
    PartText,
    /// Give 1 or 2 strands for a line.
    StrandsOfLine,
    /// Give a strand for each thread, or leave the blend out.
    StrandAThread,
    /// Say how the area is to be worked.
    SayHow,
    /// Say how the area is to be worked, in a file of marks.
    SayHowInFile,
    /// Choose cells.
    ChooseCells,
    /// Give a file of marks.
    GiveMarks,
    /// Begin from an example of a file of marks.
    ExampleOfMarks,
    /// Name a thread by code or name, with strands, or a blend.
    NameThread,

    // Steps.
    /// Look at what was written over last, which is kept beside the chart.
    LookAtEarlier,
    /// Take something back first: a new change takes the place of what was taken back.
    UndoFirst,
    /// Go on from what there is: what is changed from now on can be taken back.
    GoOnFromHere,

    // Kit.
    /// Give a table of what is owned.
    GiveOwned,
    /// Cut longer lengths.
    LongerNeedleful,
}
