//! How far the data of a JPEG goes, by ITU-T T.81, without making pixels of it.
//!
//! Decoders fill what is missing with grey and say nothing, as a browser should; a chart must not be made of that.
//! So the codes are walked through as clause F.2.2 (sequential) and clause G.2 (progressive) say, and blocks are
//! counted. Arithmetic coding and lossless pictures are left to the decoder, which refuses them.

use crate::ground::progress::{Progress, Stopped, ask};

/// How far a picture's data goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Extent {
    /// No block is missing.
    Whole,
    /// Blocks are missing or spoilt, but few: within one row of them, or between marks from which decoding begins anew.
    Nearly,
    /// In this pass over the picture, from 1, it goes as far as this row. Where one pass holds all, that is `None`.
    Short {
        /// The pass.
        pass: Option<u32>,
        /// Rows of pixels that are there.
        rows: u32,
        /// All rows.
        of: u32,
    },
    /// A kind that is not walked through here, or headers that make no sense: the decoder has the word.
    Unknown,
}

/// More passes than this are no picture; the decoder takes a hundred.
const MOST_PASSES: u32 = 500;

/// Why codes end before they should.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Fault {
    /// The data ends, or a marker stands where codes should be.
    Ended,
    /// Bits that are no code.
    NoCode,
}

/// A Huffman table (annex C).
struct Table {
    /// For each 16 bits their code's length and value, 0 where they are no code.
    whole: Vec<u16>,
    /// The same for as many bits as nearly all codes fit into, 0 where they do not: all of it stays near the processor.
    short: Vec<u16>,
}

/// The bits of a table's short part.
const SHORT: u32 = 10;

impl Table {
    /// A code's length and value by the 64 bits that begin with it.
    fn entry(&self, bits: u64) -> [u8; 2] {
        let entry = match self.short[(bits >> (64 - SHORT)) as usize] {
            0 => self.whole[(bits >> 48) as usize],
            entry => entry,
        };
        entry.to_be_bytes()
    }
}

/// A table from its 16 counts and its values.
fn table(counts: &[u8], values: &[u8]) -> Option<Table> {
    let mut table = Vec::with_capacity(1 << 16);
    let mut values = values.iter();
    for (length, &count) in (1_u16..).zip(counts) {
        for _ in 0..count {
            let value = u16::from(*values.next()?);
            let until = table.len() + (1 << (16 - length));
            if until > 1 << 16 {
                return None;
            }
            table.resize(until, length << 8 | value);
        }
    }
    table.resize(1 << 16, 0);
    let fits = |&entry: &u16| if u32::from(entry >> 8) <= SHORT { entry } else { 0 };
    let short = table.iter().step_by(1 << (16 - SHORT)).map(fits).collect();
    Some(Table { whole: table, short })
}

/// The bits of a scan, stuffed zeros taken out (clause F.1.2.3).
struct Bits<'a> {
    bytes: &'a [u8],
    at: usize,
    /// The bits that wait, the first one highest.
    waiting: u64,
    count: u32,
}

impl Bits<'_> {
    fn fill(&mut self) {
        // Eight bytes at a time where none of them can be part of a marker or of what is stuffed.
        if let Some(&eight) = self.bytes.get(self.at..).and_then(<[u8]>::first_chunk::<8>) {
            let word = u64::from_be_bytes(eight);
            let ones = !word;
            let has_ff = ones.wrapping_sub(0x0101_0101_0101_0101) & word & 0x8080_8080_8080_8080 != 0;
            let bytes = (64 - self.count) / 8;
            if bytes == 0 {
                return;
            }
            if !has_ff {
                self.waiting |= (word >> (64 - 8 * bytes)) << (64 - 8 * bytes - self.count);
                self.at += bytes as usize;
                self.count += 8 * bytes;
                return;
            }
        }
        while self.count <= 56 {
            let byte = match self.bytes.get(self.at..) {
                Some([0xff, 0x00, ..]) => {
                    self.at += 2;
                    0xff
                }
                // A marker, or its fill bytes.
                Some([0xff, ..] | []) | None => return,
                Some([byte, ..]) => {
                    self.at += 1;
                    *byte
                }
            };
            self.waiting |= u64::from(byte) << (56 - self.count);
            self.count += 8;
        }
    }

    fn take(&mut self, count: u32) -> Result<u32, Fault> {
        if count == 0 {
            return Ok(0);
        }
        if self.count < count {
            self.fill();
        }
        if self.count < count {
            return Err(Fault::Ended);
        }
        let bits = (self.waiting >> (64 - count)) as u32;
        self.waiting <<= count;
        self.count -= count;
        Ok(bits)
    }

    fn code(&mut self, table: &Table) -> Result<u8, Fault> {
        if self.count < 16 {
            self.fill();
        }
        let [length, value] = table.entry(self.waiting);
        let length = u32::from(length);
        if length > self.count || length == 0 && self.count < 16 {
            return Err(Fault::Ended);
        }
        if length == 0 {
            return Err(Fault::NoCode);
        }
        self.waiting <<= length;
        self.count -= length;
        Ok(value)
    }

    /// Leaves what waits, and passes the next marker if it is one to begin anew from (clause E.1.4).
    fn restart(&mut self) -> Result<(), Fault> {
        (self.waiting, self.count) = (0, 0);
        match marker(self.bytes, self.at) {
            Some((0xd0..=0xd7, after)) => {
                self.at = after;
                Ok(())
            }
            _ => Err(Fault::Ended),
        }
    }
}

/// The next marker from a place on, and where it ends.
fn marker(bytes: &[u8], from: usize) -> Option<(u8, usize)> {
    let mut at = from;
    loop {
        at += bytes.get(at..)?.iter().position(|&byte| byte == 0xff)?;
        at += bytes.get(at..)?.iter().position(|&byte| byte != 0xff)?;
        match bytes.get(at) {
            Some(0) => at += 1,
            Some(&kind) => return Some((kind, at + 1)),
            None => return None,
        }
    }
}

/// A component of the frame.
struct Component {
    id: u8,
    /// Blocks of an MCU across and down.
    across: usize,
    down: usize,
    /// Blocks in a row, those that only fill an MCU counted.
    stride: usize,
    /// Which coefficients of each block are not zero, as far as is known; nothing as long as none is needed.
    other: Vec<u64>,
    /// How many low bits of each coefficient are still to come.
    missing: [u8; 64],
}

/// The frame (clause B.2.2).
struct Frame {
    width: usize,
    height: usize,
    progressive: bool,
    components: Vec<Component>,
    /// Samples of an MCU across and down, in blocks.
    most: [usize; 2],
}

impl Frame {
    fn new(kind: u8, header: &[u8]) -> Option<Self> {
        let [8, high, low, wide, wider, count, parts @ ..] = header else { return None };
        let [height, width] =
            [[*high, *low], [*wide, *wider]].map(|pair| usize::from(u16::from_be_bytes(pair)));
        if width == 0 || height == 0 || parts.len() < 3 * usize::from(*count) || *count == 0 {
            return None;
        }
        let mut components: Vec<Component> = Vec::new();
        for part in parts.chunks_exact(3).take((*count).into()) {
            let [across, down] = [part[1] >> 4, part[1] & 15].map(usize::from);
            if !(1..=4).contains(&across) || !(1..=4).contains(&down) {
                return None;
            }
            let (other, missing) = (Vec::new(), [u8::MAX; 64]);
            components.push(Component { id: part[0], across, down, stride: 0, other, missing });
        }
        let most = [
            components.iter().map(|part| part.across).max()?,
            components.iter().map(|part| part.down).max()?,
        ];
        for part in &mut components {
            part.stride = width.div_ceil(8 * most[0]) * part.across;
        }
        Some(Self { width, height, progressive: kind == 0xc2, components, most })
    }

    /// That a pass ends after so many rows of pixels.
    fn short(&self, pass: u32, rows: usize) -> Extent {
        let in_passes = self.progressive || pass > 1;
        Extent::Short {
            pass: in_passes.then_some(pass),
            rows: rows.min(self.height) as u32,
            of: self.height as u32,
        }
    }

    /// Rows of MCUs.
    fn tall(&self) -> usize {
        self.height.div_ceil(8 * self.most[1])
    }
}

/// A scan (clause B.2.3).
struct Scan {
    /// Components by their place in the frame, with their tables' numbers.
    parts: Vec<(usize, [usize; 2])>,
    band: [usize; 2],
    /// Bits of the coefficients that came before, and those still to come.
    high: u8,
    low: u8,
}

impl Scan {
    fn new(header: &[u8], frame: &Frame) -> Option<Self> {
        let (&count, rest) = header.split_first()?;
        let (parts, rest) = rest.split_at_checked(2 * usize::from(count))?;
        let [start, end, bits, ..] = rest else { return None };
        let parts = parts.chunks_exact(2).map(|part| {
            let place = frame.components.iter().position(|component| component.id == part[0])?;
            Some((place, [part[1] >> 4, part[1] & 15].map(|table| usize::from(table & 3))))
        });
        let parts = parts.collect::<Option<Vec<_>>>()?;
        let band = if frame.progressive { [*start, *end].map(usize::from) } else { [0, 63] };
        let sound = !parts.is_empty()
            && band[1] < 64
            && band[0] <= band[1]
            && (!frame.progressive || (band[0] == 0) == (band[1] == 0))
            && (band[0] == 0 || parts.len() == 1);
        let [high, low] = if frame.progressive { [bits >> 4, bits & 15] } else { [0, 0] };
        sound.then_some(Self { parts, band, high, low })
    }
}

/// Walks through a file that begins as a JPEG does.
///
/// # Errors
/// [`Stopped`] when `progress` wants to stop.
pub(super) fn extent(bytes: &[u8], progress: &dyn Progress) -> Result<Extent, Stopped> {
    let mut tables: [[Option<Table>; 4]; 2] = Default::default();
    let mut frame: Option<Frame> = None;
    let mut interval = 0;
    let mut passes = 0;
    let mut nearly = false;
    let mut at = 2;
    let ended = loop {
        let Some((kind, after)) = marker(bytes, at) else { break false };
        at = after;
        match kind {
            0xd9 => break true,
            0xd0..=0xd8 | 0x01 => continue,
            _ => {}
        }
        // What a segment says of its length, itself counted (clause B.1.1.4).
        let Some([high, low]) = bytes.get(at..at + 2) else { break false };
        let length = usize::from(u16::from_be_bytes([*high, *low]));
        let Some(header) = bytes.get(at + 2..at + length.max(2)) else { break false };
        at += length.max(2);
        match kind {
            0xc4 if tables_of(header, &mut tables).is_none() => return Ok(Extent::Unknown),
            0xc0..=0xc2 if frame.is_none() => match Frame::new(kind, header) {
                Some(known) => frame = Some(known),
                None => return Ok(Extent::Unknown),
            },
            0xc0..=0xc3 | 0xc5..=0xcf => return Ok(Extent::Unknown),
            0xdd => {
                interval = header.get(..2).map_or(0, |pair| usize::from(pair[0]) << 8 | usize::from(pair[1]))
            }
            0xda => {
                passes += 1;
                let Some(frame) = &mut frame else { return Ok(Extent::Unknown) };
                let Some(scan) = Scan::new(header, frame).filter(|_| passes <= MOST_PASSES) else {
                    return Ok(Extent::Unknown);
                };
                let bits = Bits { bytes, at, waiting: 0, count: 0 };
                let mut walk = Walk { bits, frame, tables: &tables, run: 0 };
                let walked = walk.scan(&scan, interval, progress)?;
                at = walk.bits.at;
                match walked {
                    Walked::NoTable => return Ok(Extent::Unknown),
                    Walked::Whole => {}
                    Walked::Nearly => nearly = true,
                    // Where a marker follows, the file was not cut: its program wrote it so.
                    Walked::Short { all_but_one: true, .. } if marker(bytes, at).is_some() => nearly = true,
                    Walked::Short { rows, .. } => return Ok(frame.short(passes, rows)),
                }
                for (part, _) in scan.parts {
                    frame.components[part].missing[scan.band[0]..=scan.band[1]].fill(scan.low);
                }
            }
            _ => {}
        }
    };
    let Some(frame) = frame else { return Ok(Extent::Unknown) };
    let is_there = |component: &Component| match (frame.progressive, ended) {
        // Some programs leave out what they deem too fine; without an end, nobody knows.
        (true, true) | (false, _) => component.missing[0] < u8::MAX,
        (true, false) => component.missing == [0; 64],
    };
    Ok(if !frame.components.iter().all(is_there) {
        frame.short(passes + 1, 0)
    } else if nearly {
        Extent::Nearly
    } else {
        Extent::Whole
    })
}

/// Takes tables from their segment (clause B.2.4.2).
fn tables_of(mut header: &[u8], tables: &mut [[Option<Table>; 4]; 2]) -> Option<()> {
    while let Some((&which, rest)) = header.split_first() {
        let (counts, rest) = rest.split_at_checked(16)?;
        let (values, rest) = rest.split_at_checked(counts.iter().map(|&count| usize::from(count)).sum())?;
        let place = tables.get_mut(usize::from(which >> 4))?.get_mut(usize::from(which & 15))?;
        *place = Some(table(counts, values)?);
        header = rest;
    }
    Some(())
}

/// How a scan ended.
enum Walked {
    Whole,
    Nearly,
    /// So many rows of pixels are there; whether they are all but the last row of MCUs.
    Short {
        rows: usize,
        all_but_one: bool,
    },
    /// It names a table that is not there.
    NoTable,
}

/// What walking needs beside the scan.
struct Walk<'a> {
    bits: Bits<'a>,
    frame: &'a mut Frame,
    tables: &'a [[Option<Table>; 4]; 2],
    /// Blocks that are known to have nothing more in this band (clause G.1.2.2).
    run: usize,
}

impl Walk<'_> {
    fn scan(&mut self, scan: &Scan, interval: usize, progress: &dyn Progress) -> Result<Walked, Stopped> {
        // One component alone is not padded to whole MCUs (clause A.2.2).
        let alone = scan.parts.len() == 1;
        let [wide, tall, rows] = if alone {
            let part = &self.frame.components[scan.parts[0].0];
            let [most_across, most_down] = self.frame.most;
            [
                (self.frame.width * part.across).div_ceil(8 * most_across),
                (self.frame.height * part.down).div_ceil(8 * most_down),
                8 * most_down / part.down,
            ]
        } else {
            [self.frame.width.div_ceil(8 * self.frame.most[0]), self.frame.tall(), 8 * self.frame.most[1]]
        };
        let needed = |class: usize, number: usize| self.tables[class][number].is_some();
        let ready = scan.parts.iter().all(|(_, [dc, ac])| {
            let needs_dc = scan.band[0] == 0 && scan.high == 0;
            (!needs_dc || needed(0, *dc)) && (scan.band[1] == 0 || needed(1, *ac))
        });
        if !ready {
            return Ok(Walked::NoTable);
        }
        let all = wide * tall;
        let short = |place: usize, fault: Fault| Walked::Short {
            rows: place / wide * rows,
            all_but_one: fault == Fault::Ended && place >= wide && place / wide + 1 == tall,
        };
        let mut nearly = false;
        let mut place = 0;
        let mut asked = 0;
        while place < all {
            if place / wide >= asked {
                ask(progress)?;
                asked = place / wide + 1;
            }
            if interval > 0 && place > 0 && place % interval == 0 {
                self.run = 0;
                if self.bits.restart().is_err() {
                    return Ok(short(place, Fault::Ended));
                }
            }
            match self.unit(scan, alone, place, wide) {
                Ok(()) => place += 1,
                // Where another part begins anew, decoders go on from there.
                Err(Fault::Ended)
                    if interval > 0
                        && matches!(marker(self.bits.bytes, self.bits.at), Some((0xd0..=0xd7, _))) =>
                {
                    nearly = true;
                    place = (place / interval + 1) * interval;
                }
                Err(fault) => return Ok(short(place, fault)),
            }
        }
        Ok(if nearly { Walked::Nearly } else { Walked::Whole })
    }

    /// An MCU.
    fn unit(&mut self, scan: &Scan, alone: bool, place: usize, wide: usize) -> Result<(), Fault> {
        let (column, row) = (place % wide, place / wide);
        for &(component, tables) in &scan.parts {
            let part = &self.frame.components[component];
            let (stride, [across, down]) =
                (part.stride, if alone { [1, 1] } else { [part.across, part.down] });
            for y in 0..down {
                for x in 0..across {
                    let block = (row * down + y) * stride + column * across + x;
                    self.block(scan, component, tables, block)?;
                }
            }
        }
        Ok(())
    }

    fn block(
        &mut self,
        scan: &Scan,
        component: usize,
        [dc, ac]: [usize; 2],
        block: usize,
    ) -> Result<(), Fault> {
        let [start, end] = scan.band;
        let bits = &mut self.bits;
        if start == 0 {
            if scan.high > 0 {
                bits.take(1)?;
            } else if let Some(table) = &self.tables[0][dc] {
                let length = bits.code(table)?;
                if length > 16 {
                    return Err(Fault::NoCode);
                }
                bits.take(length.into())?;
            }
        }
        let Some(table) = self.tables[1][ac].as_ref().filter(|_| end > 0) else { return Ok(()) };
        if !self.frame.progressive {
            return sequential(bits, table);
        }
        let part = &mut self.frame.components[component];
        if part.other.is_empty() {
            // Rows of blocks, those that only fill an MCU counted.
            part.other =
                vec![0; part.stride * self.frame.height.div_ceil(8 * self.frame.most[1]) * part.down];
        }
        let Some(other) = part.other.get_mut(block) else { return Ok(()) };
        if scan.high == 0 {
            first(bits, table, scan.band, other, &mut self.run)
        } else {
            refined(bits, table, scan.band, other, &mut self.run)
        }
    }
}

/// The rest of a block after its mean (clause F.2.2.2).
fn sequential(bits: &mut Bits<'_>, table: &Table) -> Result<(), Fault> {
    let mut at = 1;
    while at < 64 {
        // A code has 16 bits at the most, and what follows it 15.
        if bits.count < 31 {
            bits.fill();
        }
        let [length, code] = table.entry(bits.waiting);
        let (zeros, all) = (usize::from(code >> 4), u32::from(length) + u32::from(code & 15));
        if length == 0 || all > bits.count {
            // The usual way says what is wrong.
            bits.code(table)?;
            return Err(Fault::Ended);
        }
        bits.waiting <<= all;
        bits.count -= all;
        match code {
            0xf0 => at += 16,
            _ if code & 15 == 0 => break,
            _ => at += zeros + 1,
        }
    }
    Ok(())
}

/// A band's first scan (clause G.1.2.2).
fn first(
    bits: &mut Bits<'_>,
    table: &Table,
    [start, end]: [usize; 2],
    other: &mut u64,
    run: &mut usize,
) -> Result<(), Fault> {
    if *run > 0 {
        *run -= 1;
        return Ok(());
    }
    let mut at = start;
    while at <= end {
        let code = bits.code(table)?;
        let (zeros, length) = (usize::from(code >> 4), u32::from(code & 15));
        match (zeros, length) {
            (15, 0) => at += 16,
            (_, 0) => {
                *run = (1 << zeros) - 1 + bits.take(zeros as u32)? as usize;
                break;
            }
            _ => {
                at += zeros;
                bits.take(length)?;
                *other |= 1_u64.checked_shl(at as u32).ok_or(Fault::NoCode)?;
                at += 1;
            }
        }
    }
    Ok(())
}

/// A band's further scans: a bit for each coefficient that is known, and those that are new (clause G.1.2.3).
fn refined(
    bits: &mut Bits<'_>,
    table: &Table,
    [start, end]: [usize; 2],
    other: &mut u64,
    run: &mut usize,
) -> Result<(), Fault> {
    let mut at = start;
    if *run == 0 {
        while at <= end {
            let code = bits.code(table)?;
            let (mut zeros, length) = (usize::from(code >> 4), u32::from(code & 15));
            if length == 0 && zeros < 15 {
                *run = (1 << zeros) + bits.take(zeros as u32)? as usize;
                break;
            }
            bits.take(length)?;
            while at <= end {
                if *other >> at & 1 == 1 {
                    bits.take(1)?;
                } else if zeros == 0 {
                    break;
                } else {
                    zeros -= 1;
                }
                at += 1;
            }
            if length > 0 && at <= end {
                *other |= 1 << at;
            }
            at += 1;
        }
    }
    if *run > 0 {
        for at in at..=end {
            if *other >> at & 1 == 1 {
                bits.take(1)?;
            }
        }
        *run -= 1;
    }
    Ok(())
}
