#!/usr/bin/env python3
# From the shared judges of this project, unchanged below this line: how a chart looks beside its picture.
"""How a chart looks beside its picture, to an eye and not to a table of cells.

    eye.py PICTURE.png CELLS.png [--cloth '#f4ecd8']

PICTURE.png has exactly as many pixels as CELLS.png has cells (one pixel a cell, transparent where the cloth is bare).
Needs numpy, pillow, scikit-image, flip-evaluator. Prints one JSON line:

  delta_e      mean CIEDE2000, cell by cell; bare cells count as cloth
  flip10/20/40 mean FLIP (Andersson et al. 2020) at 10, 20, 40 cells a degree of sight: a stitch of 1.8 mm seen
               from about 1, 2 and 4 m
  accents      regions that stand out from what is around them (Felzenszwalb & Huttenlocher 2004 regions of 12 cells
               or more whose mean colour lies 12 or more CIEDE2000 from a ring of three cells around them): their number,
               and the mean and the worst tenth of the CIEDE2000 between the region's mean in picture and in chart
               (means in linear light). Every region counts once, however small: the one red thing matters.
  steps        in smooth parts (picture's steps to its neighbours under 2 CIEDE2000): by how much a step between
               neighbouring cells of the chart is larger than in the picture, mean
  patches3     patches of one thread of 3 stitches or fewer (8-connected), a thousand stitches
  singles      stitches with no side neighbour of the same thread, per cent
"""
import argparse, json
import numpy as np
from PIL import Image
from scipy import ndimage as ndi
from skimage import color, segmentation
import flip_evaluator as flip


def linear(rgb):
    return np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)


def encoded(lin):
    lin = np.clip(lin, 0, 1)
    return np.where(lin <= 0.0031308, lin * 12.92, 1.055 * lin ** (1 / 2.4) - 0.055)


def lab(rgb):
    return color.rgb2lab(rgb)


def main():
    ap = argparse.ArgumentParser()
    ap.add_argument('picture'); ap.add_argument('cells'); ap.add_argument('--cloth', default='#f4ecd8')
    a = ap.parse_args()
    cells = np.asarray(Image.open(a.cells).convert('RGBA'))
    pic = Image.open(a.picture).convert('RGBA')
    cloth = tuple(int(a.cloth[i:i + 2], 16) for i in (1, 3, 5))
    ground = Image.new('RGBA', pic.size, cloth + (255,)); ground.alpha_composite(pic)
    p = np.asarray(ground.convert('RGB')) / 255.0
    bare = cells[..., 3] < 128
    c = cells[..., :3] / 255.0
    c[bare] = np.array(cloth) / 255.0
    assert p.shape == c.shape, (p.shape, c.shape)
    lp, lc = lab(p), lab(c)
    out = {'delta_e': round(float(color.deltaE_ciede2000(lp, lc).mean()), 3)}
    for ppd in (10, 20, 40):
        _, e, _ = flip.evaluate(p.astype(np.float32), c.astype(np.float32), 'LDR', inputsRGB=True, applyMagma=False, parameters={'ppd': ppd})
        out[f'flip{ppd}'] = round(float(e), 4)
    seg = segmentation.felzenszwalb(p, scale=60, sigma=0.6, min_size=12)
    linp, linc = linear(p), linear(c)
    errs = []
    for i in range(seg.max() + 1):
        m = seg == i
        n = m.sum()
        if n < 12 or n > 0.25 * m.size: continue
        ring = ndi.binary_dilation(m, iterations=3) & ~m
        mean = lambda x, k: lab(encoded(x[k].mean(0))[None, None])[0, 0]
        here = mean(linp, m)
        if color.deltaE_ciede2000(here, mean(linp, ring)) < 12: continue
        errs.append(float(color.deltaE_ciede2000(here, mean(linc, m))))
    errs = np.sort(errs)
    out['accents'] = len(errs)
    out['accent_mean'] = round(float(errs.mean()), 2) if len(errs) else 0
    out['accent_worst'] = round(float(errs[int(len(errs) * .9):].mean()), 2) if len(errs) else 0
    tot, cnt = 0.0, 0
    for ax in (0, 1):
        s = [slice(None)] * 2; t = [slice(None)] * 2
        s[ax] = slice(1, None); t[ax] = slice(None, -1)
        dp = color.deltaE_ciede2000(lp[tuple(s)], lp[tuple(t)]); dc = color.deltaE_ciede2000(lc[tuple(s)], lc[tuple(t)])
        k = dp < 2
        tot += np.maximum(dc - dp, 0)[k].sum(); cnt += k.sum()
    out['steps'] = round(float(tot / max(cnt, 1)), 3)
    ids = cells[..., 0].astype(np.int64) << 16 | cells[..., 1].astype(np.int64) << 8 | cells[..., 2]
    ids[bare] = -1
    small = 0
    for v in np.unique(ids):
        if v < 0: continue
        labl, n = ndi.label(ids == v, structure=np.ones((3, 3)))
        sizes = np.bincount(labl.ravel())[1:]
        small += int((sizes <= 3).sum())
    worked = int((~bare).sum())
    same = np.zeros(ids.shape, bool)
    same[1:] |= ids[1:] == ids[:-1]; same[:-1] |= ids[1:] == ids[:-1]
    same[:, 1:] |= ids[:, 1:] == ids[:, :-1]; same[:, :-1] |= ids[:, 1:] == ids[:, :-1]
    out['patches3'] = round(1000 * small / max(worked, 1), 1)
    out['singles'] = round(100 * float((~same & ~bare).sum()) / max(worked, 1), 2)
    print(json.dumps(out))


main()
