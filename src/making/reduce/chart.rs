//! From a surveyed picture to chosen looks and labelled cells.

use std::borrow::Cow;

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use rayon::prelude::*;

use super::costs::Costs;
use super::dither::meant;
use super::eye::Eye;
use super::histogram::Histogram;
use super::labels::{Alone, Labels, VOID};
use super::means::nearest_to_means;
use super::quiet::{Borders, Quiet};
use super::select::{Choice, Demand};
use super::soft::soft;
use super::survey::Survey;
use super::{Confetti, ENOUGH, Options, ReduceError, Reduction, STEPS, figures};
use crate::ground::colour::Lab32;
use crate::ground::progress::{Progress, Stage, Stopped, ask, tell};

/// Passes over the card after which exchanges stop; seldom are more than six needed.
const PASSES: usize = 20;

/// The looks that serve the picture's colours best, the fixed ones first.
pub(super) fn choose(
    survey: &Survey<'_>,
    demand: &Demand,
    count: usize,
    seed: u64,
    progress: &dyn Progress,
) -> Result<Choice, Stopped> {
    let fixed = survey.fixed.len();
    let means = nearest_to_means(&survey.coarse, &survey.looks, &survey.usable, count - fixed, seed);
    let starts = [[survey.fixed.as_slice(), &means].concat(), survey.fixed.clone()];
    let started = starts.into_par_iter().map(|looks| {
        let mut choice = Choice::new(demand, looks, fixed);
        while choice.looks.len() < count && choice.add_best(demand, &survey.usable) {
            ask(progress)?;
        }
        choice.exchange(demand, &survey.usable, PASSES, progress)?;
        Ok(choice)
    });
    let choice = best(demand, started.collect::<Result<_, Stopped>>()?);
    let kicked = (0..KICKS).into_par_iter().map(|kick| {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        random.set_stream(kick);
        let mut other = choice.clone();
        other.kick(demand, &survey.usable, KICKED, &mut random);
        other.exchange(demand, &survey.usable, PASSES, progress)?;
        Ok(other)
    });
    let mut others: Vec<Choice> = kicked.collect::<Result<_, Stopped>>()?;
    others.insert(0, choice);
    Ok(best(demand, others))
}

/// The choice that costs least, the first of equals.
fn best(demand: &Demand, choices: Vec<Choice>) -> Choice {
    let costed = choices.into_iter().map(|choice| (choice.total(demand), choice));
    costed.reduce(|best, next| if next.0 < best.0 { next } else { best }).expect("there is a choice").1
}

/// How many looks are enough: looks are taken greedily until the next [`LOOKAHEAD`] together gain less than
/// [`ENOUGH`] each. Looking ahead passes over one look that gains little before one that gains much.
pub(super) fn enough(survey: &Survey<'_>, progress: &dyn Progress) -> Result<usize, Stopped> {
    let weight: f64 = survey.coarse.weights.iter().sum();
    let demand = &survey.cubes();
    let mut choice = Choice::new(demand, survey.fixed.clone(), survey.fixed.len());
    let mut errors = Vec::new();
    let fewest = survey.fixed.len().max(2);
    while choice.looks.len() < MOST && choice.add_best(demand, &survey.usable) {
        ask(progress)?;
        errors.push((choice.looks.len(), choice.total(demand) / weight.max(1.0)));
        let Some(&(looks, error)) = errors.len().checked_sub(LOOKAHEAD + 1).and_then(|at| errors.get(at))
        else {
            continue;
        };
        let now = errors[errors.len() - 1].1;
        if looks >= fewest && (error - now) / (LOOKAHEAD as f64) < ENOUGH {
            return Ok(looks);
        }
    }
    Ok(choice.looks.len().max(1))
}

/// Looks beyond which [`enough`] does not go: what a key and a person can bear.
const MOST: usize = 120;

/// How many looks ahead [`enough`] looks.
const LOOKAHEAD: usize = 3;

/// Chooses `asked` looks, or as many as there are, and labels the cells.
pub(super) fn chart(
    survey: &Survey<'_>,
    demand: &Demand,
    asked: usize,
    options: &Options,
    progress: &dyn Progress,
) -> Result<Reduction, ReduceError> {
    let fixed = survey.fixed.len();
    if fixed > asked {
        return Err(ReduceError::TooManyFixed { fixed, asked });
    }
    let count = asked.min(fixed + survey.usable.len()).min(survey.different.max(fixed));
    if survey.different == 0 || count == 0 {
        let labels = vec![None; survey.cells.len()];
        let figures = figures(survey, &[], &labels, progress)?;
        return Ok(Reduction { chosen: Vec::new(), labels, figures });
    }
    let afar = options.afar.map(Eye::new);
    // What cells are meant to be hangs on the choice only where looks are mixed for it.
    let beside = || -> Result<_, Stopped> {
        let cells: Cow<'_, [_]> = match (options.dither, options.confetti) {
            _ if afar.is_some() => survey.cells.into(),
            (Some(_), _) => return Ok(None),
            (None, Confetti::Keep) => survey.cells.into(),
            (None, Confetti::Few | Confetti::None) => softened(survey, options, progress)?.into(),
        };
        Ok(Some(sorted(survey, &cells, count, options, progress)?))
    };
    let (choice, sorted_beside) =
        rayon::join(|| choose(survey, demand, count, options.seed, progress), beside);
    let choice = choice?;
    tell(progress, Stage::ChoosingThreads, 2, STEPS)?;
    let (fine, quiet) = match sorted_beside? {
        Some(sorted) => sorted,
        None => sorted(survey, &meant(survey, &choice.looks, progress)?, count, options, progress)?,
    };
    let mut labels = cheapest(survey, &choice.looks, &fine, quiet.as_ref(), options, progress)?;
    match &afar {
        Some(eye) => settle_afar(&mut labels, survey, &choice.looks, eye, options, progress)?,
        None => smooth(&mut labels, survey, &choice.looks, options, progress)?,
    }
    tell(progress, Stage::ChoosingThreads, 3, STEPS)?;
    use_all(&mut labels, choice.looks.len(), options.confetti, progress)?;
    Ok(finish(survey, &choice.looks, &labels, options, progress)?)
}

/// Cells by what they are meant to be, and where they are quiet, as far as that matters.
fn sorted(
    survey: &Survey<'_>,
    cells: &[Option<Lab32>],
    count: usize,
    options: &Options,
    progress: &dyn Progress,
) -> Result<(Histogram, Option<Quiet>), Stopped> {
    let fine = survey.fine(cells, count);
    ask(progress)?;
    let matters = calm(options) || options.afar.is_some();
    let quiet = if matters { Some(Quiet::new(cells, survey.size, progress)?) } else { None };
    Ok((fine, quiet))
}

/// Whether what is quiet in the picture is made calm, each cell seen by itself.
fn calm(options: &Options) -> bool {
    options.afar.is_none() && options.dither.is_none() && options.confetti != Confetti::Keep
}

/// What cells are meant to be where they are made calm; those of a protected area are as they are.
fn softened(
    survey: &Survey<'_>,
    options: &Options,
    progress: &dyn Progress,
) -> Result<Vec<Option<Lab32>>, Stopped> {
    let mut cells = soft(survey.cells, survey.size, progress)?;
    let held = options.detail.iter().flatten();
    for ((cell, own), _) in cells.iter_mut().zip(survey.cells).zip(held).filter(|(_, held)| **held) {
        *cell = *own;
    }
    Ok(cells)
}

/// The labels that cost least, nothing smoothed. Label `looks.len()` is cloth left bare by choice.
fn cheapest<'a>(
    survey: &Survey<'_>,
    looks: &[usize],
    fine: &Histogram,
    quiet: Option<&'a Quiet>,
    options: &Options,
    progress: &dyn Progress,
) -> Result<Labels<'a>, Stopped> {
    let looks: Vec<_> = looks.iter().map(|&look| survey.looks[look]).collect();
    let mut costs = Costs::new(&fine.colours, &looks, progress)?;
    if calm(options) {
        costs.bend();
    }
    if survey.bareable.contains(&true) {
        let mut apart = vec![false; fine.len()];
        for (&bin, &bare) in fine.bin_of.iter().zip(&survey.bareable) {
            if bare {
                apart[bin as usize] = true;
            }
        }
        costs = costs.with_column(|row| if apart[row] { 0.0 } else { f32::INFINITY });
    }
    ask(progress)?;
    let mut labels = Labels::cheapest(survey.size, fine, looks.len(), costs, survey.weights);
    if let Some(quiet) = quiet {
        let seen: Vec<_> = looks.into_iter().chain(survey.bare).collect();
        labels.set_borders(Borders::new(quiet, &seen));
    }
    Ok(labels)
}

/// Whether anything is smoothed.
fn smoothes(options: &Options) -> bool {
    options.confetti != Confetti::Keep || options.dither.is_some()
}

/// How many single stitches are left alone.
fn most_singles(share: f32, survey: &Survey<'_>) -> usize {
    #[allow(clippy::cast_sign_loss, reason = "a share of cells")]
    let most = (share * survey.cells.iter().flatten().count() as f32) as usize;
    most
}

/// Makes calm what is quiet in the picture, and lowers the number of single stitches as far as asked, at the least loss.
///
/// A price on being single is raised step by step, so that the singles that matter least go first and those
/// of the strongest contrast, such as stars in a night sky, are the ones that stay.
fn smooth(
    labels: &mut Labels<'_>,
    survey: &Survey<'_>,
    looks: &[usize],
    options: &Options,
    progress: &dyn Progress,
) -> Result<(), Stopped> {
    if !smoothes(options) {
        return Ok(());
    }
    // Dithering lives on what is made calm otherwise, and on single stitches: they are dear only as far as there are too
    // many.
    let calm = options.dither.is_none();
    let (boundary, least) = if calm { (BOUNDARY, SINGLE) } else { (0.0, LEAST) };
    let most = match options.confetti {
        Confetti::None => 0,
        _ => most_singles(options.dither.map_or(FEW, |share| share as f32), survey),
    };
    labels.hold(|cell| options.detail.as_ref().is_some_and(|detail| detail[cell]));
    let mut price = least;
    labels.set_prices(boundary, price);
    labels.settle(progress)?;
    if options.confetti == Confetti::None {
        for price in [2.0, 4.0, 8.0, 16.0, 32.0, 64.0] {
            labels.set_prices(BOUNDARY, price);
            labels.settle_singles(progress)?;
        }
    } else {
        // In a protected area singles stay at any price: then it is no use to raise it further.
        while labels.singles() > most && price <= FORCE {
            price *= STEP;
            labels.set_prices(boundary, price);
            labels.settle_singles(progress)?;
        }
    }
    if calm {
        labels.settle_patches(progress)?;
        let seen: Vec<_> = looks.iter().map(|&look| survey.looks[look]).chain(survey.bare).collect();
        labels.balance(&survey.accents, &seen, most, progress)?;
    }
    if options.confetti == Confetti::None {
        labels.hold(|_| false);
        labels.set_prices(BOUNDARY, FORCE);
        return labels.settle_singles(progress);
    }
    labels.give_back(most, least);
    Ok(())
}

/// Mixes looks for an eye that is far away, with no more single stitches than are asked for.
fn settle_afar(
    labels: &mut Labels<'_>,
    survey: &Survey<'_>,
    looks: &[usize],
    eye: &Eye,
    options: &Options,
    progress: &dyn Progress,
) -> Result<(), Stopped> {
    let seen: Vec<_> = looks.iter().map(|&look| survey.looks[look]).chain(survey.bare).collect();
    let share = match (options.confetti, options.dither) {
        (Confetti::None, _) => 0.0,
        (_, Some(share)) => share as f32,
        (Confetti::Few, None) => FEW_AFAR,
        (Confetti::Keep, None) => 1.0,
    };
    let most = most_singles(share, survey);
    labels.hold(|cell| options.detail.as_ref().is_some_and(|detail| detail[cell]));
    labels.set_prices(BOUNDARY, 0.0);
    labels.settle_afar(eye, survey.cells, &seen, (most, FORCE), progress)?;
    if options.confetti == Confetti::None {
        labels.hold(|_| false);
        labels.set_prices(BOUNDARY, FORCE);
        labels.settle_singles(progress)?;
    }
    Ok(())
}

/// The share of single stitches that [`Confetti::Few`] may leave where looks are mixed for an eye far away.
const FEW_AFAR: f32 = 0.02;

/// Price in ΔE00 of each side between stitches of different looks. It hardly smooths: from 0.2 on it costs
/// more likeness than it saves singles (measured on seven photos).
const BOUNDARY: f32 = 0.04;

/// The least price in ΔE00 on a single stitch for [`Confetti::Few`]: what costs less than this to remove is
/// never worth a change of thread.
const SINGLE: f32 = 1.0;

/// The same where cells are dithered.
const LEAST: f32 = 0.05;

/// The share of single stitches that [`Confetti::Few`] may leave. It is the same for every picture: one price on singles
/// for all pictures, and up to 1.5 % of them, would take only 0.1 % off the error at the same mean share (31 pictures),
/// and a picture of fine grain would be full of them.
const FEW: f32 = 0.0079;

/// By how much the price on single stitches is raised at a time. Smaller steps take longer; what a step takes away
/// beyond the share is given back.
const STEP: f32 = 1.2;

/// Fresh starts of the exchanges from a choice disturbed at random, and how many looks each disturbs. At 10 looks
/// they gain 0.1 %, at 30 nothing that can be measured: there the exchanges alone end within 0.05 % of the optimum.
const KICKS: u64 = 4;
const KICKED: usize = 4;

/// A price that no difference of colour outweighs: CIEDE2000 stays under 200.
const FORCE: f32 = 2000.0;

fn use_all(
    labels: &mut Labels<'_>,
    looks: usize,
    confetti: Confetti,
    progress: &dyn Progress,
) -> Result<(), Stopped> {
    for label in 0..looks as u16 {
        ask(progress)?;
        if labels.used()[usize::from(label)] > 0 {
            continue;
        }
        let placed = labels.introduce(label, Alone::No, FORCE / 2.0);
        if !placed && confetti != Confetti::None {
            labels.introduce(label, Alone::Yes, f32::INFINITY);
        }
    }
    Ok(())
}

/// Labels become places in the list of looks used, the most used first.
fn finish(
    survey: &Survey<'_>,
    looks: &[usize],
    labels: &Labels<'_>,
    options: &Options,
    progress: &dyn Progress,
) -> Result<Reduction, Stopped> {
    let mut rows = labels.rows();
    if options.confetti == Confetti::None {
        labels.lone(|cell| rows[cell] = VOID);
    }
    let mut counts = vec![0_u64; looks.len()];
    for &label in &rows {
        if let Some(count) = counts.get_mut(usize::from(label)) {
            *count += 1;
        }
    }
    let mut order: Vec<usize> = (0..looks.len()).filter(|&label| counts[label] > 0).collect();
    order.sort_by(|&x, &y| counts[y].cmp(&counts[x]).then(looks[x].cmp(&looks[y])));
    let mut place = vec![None; looks.len()];
    for (new, &label) in order.iter().enumerate() {
        place[label] = Some(new as u16);
    }
    let chosen: Vec<usize> = order.iter().map(|&label| looks[label]).collect();
    let labels: Vec<Option<u16>> =
        rows.iter().map(|&label| place.get(usize::from(label)).copied().flatten()).collect();
    let figures = figures(survey, &chosen, &labels, progress)?;
    Ok(Reduction { chosen, labels, figures })
}
