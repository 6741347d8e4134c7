#!/usr/bin/env python3
"""Draws more charts of tests/printed, with a PDF writer of its own, so that each uses what other writers of PDF may use.

    python3 draw_more.py OUT [STYLE...]     (Python alone)

NAME.pdf and NAME.json are as draw.py writes them; `parts` are part stitches (column, row, code, kind), `blends` the codes
of a blend. Threads, names and codes are invented.
  jetty   symbols are forms placed by a matrix each; all rules of a page are one path; numbers count from the middle to both
          sides, those of the columns are turned; two threads of a row of the key are a blend, one code above the other
  cairn   symbols are strokes of a Type 3 font; rules are dashes drawn one by one; the sheet lies under a turned matrix,
          with a pale word across it and ornaments round it; part stitches in corners; knots; a line all along an edge
  ledger  a table of cells, each a box with a letter; the first row and column are cells with numbers
  stamp   symbols are small pictures (stencils within the text of the page) or patterns that fill their squares
  twin    two parts of the chart on each page; symbols are words of a Type 3 font of dots; codes and names in one
"""
import json, math, os, random, sys, zlib

NAMES = ['low ebb', 'old gull', 'pale kelp', 'deep reef', 'wet sand', 'grey spray', 'far weed', 'lost shell', 'warm stone', 'late wave', 'slow drift', 'dim cove', 'red buoy', 'worn rope', 'new sail', 'cold foam']


class Pdf:
    """Objects of a file, in the order in which they are added."""

    def __init__(self):
        self.objects, self.pages = [None, None], []

    def add(self, dictionary, stream=None):
        if stream is not None:
            data = zlib.compress(stream.encode('latin-1') if isinstance(stream, str) else stream, 9)
            body = b'<< %s /Length %d /Filter /FlateDecode >>\nstream\n' % (dictionary.encode(), len(data)) + data + b'\nendstream'
        else:
            body = f'<< {dictionary} >>'.encode()
        self.objects.append(body)
        return len(self.objects)

    def page(self, content, resources, size=(595, 842), more=''):
        stream = self.add('', content)
        self.pages.append(self.add(f'/Type /Page /Parent 2 0 R /MediaBox [0 0 {size[0]} {size[1]}] /Contents {stream} 0 R /Resources << {resources} >> {more}'))

    def save(self, path):
        self.objects[0] = b'<< /Type /Catalog /Pages 2 0 R >>'
        self.objects[1] = f'<< /Type /Pages /Count {len(self.pages)} /Kids [{" ".join(f"{p} 0 R" for p in self.pages)}] >>'.encode()
        out, places = b'%PDF-1.7\n', []
        for number, body in enumerate(self.objects, 1):
            places.append(len(out))
            out += b'%d 0 obj\n' % number + body + b'\nendobj\n'
        start = len(out)
        out += b'xref\n0 %d\n0000000000 65535 f \n' % (len(places) + 1) + b''.join(b'%010d 00000 n \n' % p for p in places)
        out += b'trailer << /Size %d /Root 1 0 R >>\nstartxref\n%d\n%%%%EOF\n' % (len(places) + 1, start)
        with open(path, 'wb') as file:
            file.write(out)


def picture(seed, columns, rows, threads):
    rng = random.Random(seed)
    waves = [(rng.uniform(.05, .25), rng.uniform(.05, .25), rng.uniform(0, 6.3)) for _ in range(4)]
    field = [[sum(math.sin(a * x + b * y + c) for a, b, c in waves) + rng.gauss(0, .3) for x in range(columns)] for y in range(rows)]
    order = sorted(v for row in field for v in row)
    steps = [order[int(len(order) * k / threads)] for k in range(threads)]
    cells = []
    for y in range(rows):
        for x in range(columns):
            k = max(k for k in range(threads) if field[y][x] >= steps[k])
            cells.append(None if math.hypot(x / columns - .5, y / rows - .5) > .6 or rng.random() < .03 else k)
    numbers = sorted(rng.sample(range(210, 990), threads))
    found = [{'code': f'W{numbers[k]}', 'name': NAMES[k], 'count': cells.count(k)} for k in range(threads)]
    return {'columns': columns, 'rows': rows, 'cells': cells, 'threads': found, 'lines': []}


def cell(chart, x, y):
    return chart['cells'][y * chart['columns'] + x]


def save(chart, pdf, out, name):
    pdf.save(os.path.join(out, name + '.pdf'))
    with open(os.path.join(out, name + '.json'), 'w') as file:
        json.dump(chart, file, separators=(',', ':'))
        file.write('\n')


def text(x, y, words, size=8, turn=False, font='F1'):
    words = words.replace('\\', '\\\\').replace('(', '\\(').replace(')', '\\)')
    place = f'0 1 -1 0 {x:.2f} {y:.2f} Tm' if turn else f'1 0 0 1 {x:.2f} {y:.2f} Tm'
    return f'BT /{font} {size} Tf {place} ({words}) Tj ET\n'


HELVETICA = '/Type /Font /Subtype /Type1 /BaseFont /Helvetica'

# Twelve signs in a square of side 1, as paths: whether filled, and the path. Some are several paths.
SIGNS = [
    [('f', '.2 .2 .6 .6 re')],
    [('S', '.2 .2 m .8 .8 l'), ('S', '.2 .8 m .8 .2 l')],
    [('f', '.5 .8 m .8 .2 l .2 .2 l h')],
    [('f', '.5 .2 m .8 .8 l .2 .8 l h')],
    [('S', '.5 .15 m .5 .85 l'), ('S', '.15 .5 m .85 .5 l')],
    [('f', '.2 .55 .6 .2 re'), ('f', '.2 .25 .6 .12 re')],
    [('S', '.25 .25 .5 .5 re'), ('f', '.42 .42 .16 .16 re')],
    [('S', '.2 .2 m .5 .8 l .8 .2 l')],
    [('f', '.2 .2 .25 .25 re'), ('f', '.55 .55 .25 .25 re')],
    [('f', '.2 .55 .25 .25 re'), ('f', '.55 .2 .25 .25 re')],
    [('S', '.2 .8 m .5 .2 l .8 .8 l'), ('f', '.43 .6 .14 .14 re')],
    [('f', '.5 .82 m .82 .5 l .5 .18 l .18 .5 l h')],
]


def jetty(out):
    chart, pdf = picture(21, 50, 62, 11), Pdf()
    chart['blends'] = [[chart['threads'][4]['code'], 'W995']]
    font = pdf.add(HELVETICA)
    forms = []
    for parts in SIGNS[:11]:
        forms.append(pdf.add('/Type /XObject /Subtype /Form /BBox [0 0 1 1]', '.09 w 0 g 0 G ' + ' '.join(f'{path} {way}' for way, path in parts)))
    resources = f'/Font << /F1 {font} 0 R >> /XObject << ' + ' '.join(f'/S{k} {f} 0 R' for k, f in enumerate(forms)) + ' >>'
    side, x0, y0 = 15.3, 70, 760
    for top in (0, 40):
        for left in (0, 30):
            w, h = min(30, chart['columns'] - left), min(40, chart['rows'] - top)
            c = ''
            for y in range(h):
                for x in range(w):
                    k = cell(chart, left + x, top + y)
                    if k is not None:
                        c += f'q {side} 0 0 {side} {x0 + x * side:.2f} {y0 - (y + 1) * side:.2f} cm /S{k} Do Q\n'
            for n in range(w + 1):
                c += f'{x0 + n * side:.2f} {y0} m {x0 + n * side:.2f} {y0 - h * side:.2f} l\n'
            for n in range(h + 1):
                c += f'{x0} {y0 - n * side:.2f} m {x0 + w * side:.2f} {y0 - n * side:.2f} l\n'
            c += '.4 w .3 G S 0 g\n'
            for n in range(w + 1):                              # from the middle: 10 squares to each side
                off = left + n - 25
                if off % 10 == 0 and off:
                    c += text(x0 + n * side + 2.2, y0 + 4, str(abs(off)), 6, True)
                if off == 0 and top == 0:
                    c += f'{x0 + n * side} {y0 + 3} m {x0 + n * side - 3} {y0 + 9} l {x0 + n * side + 3} {y0 + 9} l h f\n'
            for n in range(h + 1):
                off = top + n - 31
                if off % 10 == 0 and off:
                    c += text(x0 - 5 - 3.4 * len(str(abs(off))), y0 - n * side - 2, str(abs(off)), 6)
            pdf.page(c, resources)
    c = text(60, 790, 'Jetty', 16) + text(60, 770, f'{chart["columns"]} wide, {chart["rows"]} high')
    for dx, words in ((0, 'Sign'), (40, 'Code'), (100, 'Called'), (300, 'Strands'), (360, 'Crosses')):
        c += text(60 + dx, 745, words, 8)
    y = 720
    for k, thread in enumerate(chart['threads']):
        c += f'q 14 0 0 14 60 {y - 4} cm /S{k} Do Q\n'
        if k == 4:
            c += text(100, y + 5, thread['code'] + ' +') + text(100, y - 4, 'W995') + text(160, y, thread['name'] + ' + moonlight') + text(360, y, '1+1')
        else:
            c += text(100, y, thread['code']) + text(160, y, thread['name']) + text(360, y, '2')
        c += text(420, y, str(thread['count']))
        y -= 24
    pdf.page(c, resources)
    save(chart, pdf, out, 'jetty')


def cairn(out):
    chart, pdf = picture(22, 45, 38, 10), Pdf()
    font = pdf.add(HELVETICA)
    names, glyphs = ' '.join(f'/g{k}' for k in range(10)), []
    for k in range(10):
        paths = ' '.join(path for _, path in SIGNS[k])
        glyphs.append(pdf.add('', f'1000 0 0 0 1000 1000 d1 1000 0 0 1000 0 0 cm .08 w {paths} S'))
    signs = pdf.add(f'/Type /Font /Subtype /Type3 /FontBBox [0 0 1000 1000] /FontMatrix [.001 0 0 .001 0 0] /FirstChar 65 /LastChar 74 /Widths [{"1000 " * 10}] '
                    f'/Encoding << /Type /Encoding /Differences [65 {names}] >> /CharProcs << {" ".join(f"/g{k} {g} 0 R" for k, g in enumerate(glyphs))} >> /Resources << >>')
    resources = f'/Font << /F1 {font} 0 R /F2 {signs} 0 R >>'
    wide, tall, side, x0, y0 = 842, 595, 12.4, 80, 540          # as it is read; drawn sideways, and turned back by /Rotate
    rng = random.Random(3)
    whole = [(x, y) for y in range(2, 36) for x in range(2, 43) if cell(chart, x, y) is not None]
    parts, chart['parts'] = rng.sample(whole, 24), []
    at = {}
    for n, (x, y) in enumerate(parts):
        corner = ['bottom-left', 'bottom-right', 'top-left', 'top-right'][n % 4]
        kind = 'three-quarter' if n % 8 >= 4 else 'quarter'
        chart['parts'].append([x, y, chart['threads'][cell(chart, x, y)]['code'], f'{kind}-{corner}'])
        at[x, y] = (corner, kind)
    for thread, k in zip(chart['threads'], range(10)):
        thread['count'] -= sum(cell(chart, x, y) == k for x, y in parts)
    chart['knots'] = [[8, 9], [21, 13], [30.5, 22], [12, 30]]
    chart['lines'] = [{'code': 'B1', 'from': [0, 38], 'to': [45, 38]}, {'code': 'B1', 'from': [0, 0], 'to': [0, 38]},
                      {'code': 'B1', 'from': [5, 5], 'to': [12, 5]}, {'code': 'B1', 'from': [12, 5], 'to': [15, 9]}]
    turn = f'0 1 -1 0 {tall} 0 cm\n'
    for left, w in ((0, 45),):
        c = turn + '.9 g ' + f'BT /F1 90 Tf .8 .6 -.6 .8 150 60 Tm (CAIRN) Tj ET 0 g 0 G\n'
        for n in range(28):                                     # ornaments round the sheet
            for x, y in ((20 + n * 29, 575), (20 + n * 29, 12)):
                c += f'{x} {y} m {x + 5} {y + 5} l {x + 10} {y} l {x + 5} {y - 5} l h f\n'
        h = chart['rows']
        for y in range(h):
            for x in range(w):
                k = cell(chart, x, y)
                if k is None:
                    continue
                if (x, y) in at:
                    corner, kind = at[x, y]
                    dx, dy = (.5 if 'right' in corner else 0) * side, (.5 if 'top' in corner else 0) * side
                    c += text(x0 + x * side + dx, y0 - (y + 1) * side + dy, chr(65 + k), side / 2, font='F2')
                    if kind == 'three-quarter':
                        a, b, up = x0 + x * side, y0 - (y + 1) * side, corner in ('top-left', 'bottom-right')
                        c += f'.3 w {a} {b + (0 if up else side)} m {a + side} {b + (side if up else 0)} l S\n'
                else:
                    c += text(x0 + x * side, y0 - (y + 1) * side, chr(65 + k), side, font='F2')
        c += '.4 w .5 G\n'
        for n in range(w + 1):
            for m in range(4 * h):                              # four dashes a square
                c += f'{x0 + n * side:.2f} {y0 - m * side / 4:.2f} m {x0 + n * side:.2f} {y0 - (m + .6) * side / 4:.2f} l S\n'
        for n in range(h + 1):
            for m in range(4 * w):
                c += f'{x0 + m * side / 4:.2f} {y0 - n * side:.2f} m {x0 + (m + .6) * side / 4:.2f} {y0 - n * side:.2f} l S\n'
        for n in range(10, w + 1, 10):
            c += text(x0 + n * side - 3, y0 + 4, str(n), 6)
        for n in range(10, h + 1, 10):
            c += text(x0 - 12, y0 - n * side - 2, str(n), 6)
        c += '2 w .1 .3 .6 RG\n'
        for line in chart['lines']:
            (ax, ay), (bx, by) = line['from'], line['to']
            c += f'{x0 + ax * side} {y0 - ay * side} m {x0 + bx * side} {y0 - by * side} l S\n'
        for x, y in chart['knots']:
            c += '.7 .1 .2 rg ' + disc(x0 + x * side, y0 - y * side, 2.2) + '0 g\n'
        pdf.page(c, resources, (tall, wide), '/Rotate 90')
    c = turn
    y = 540
    for dx, words in ((0, 'Sign'), (50, 'Number'), (120, 'Thread'), (260, 'Stitches')):
        c += text(80 + dx, y + 22, words)
    for k, thread in enumerate(chart['threads']):
        c += text(80, y - 3, chr(65 + k), 14, font='F2') + text(130, y, thread['code']) + text(200, y, thread['name']) + text(340, y, str(thread['count']))
        y -= 21
    c += f'2 w .1 .3 .6 RG 80 {y + 3} m 105 {y + 3} l S\n' + text(130, y, 'B1') + text(200, y, 'quay wall')
    y -= 21
    c += '.7 .1 .2 rg ' + disc(92, y + 3, 2.8) + '0 g\n' + text(130, y, 'N7') + text(200, y, 'French knots')
    pdf.page(c, resources, (tall, wide), '/Rotate 90')
    save(chart, pdf, out, 'cairn')


def disc(x, y, r):
    k = .5523 * r
    return (f'{x + r:.3f} {y:.3f} m {x + r:.3f} {y + k:.3f} {x + k:.3f} {y + r:.3f} {x:.3f} {y + r:.3f} c {x - k:.3f} {y + r:.3f} {x - r:.3f} {y + k:.3f} {x - r:.3f} {y:.3f} c '
            f'{x - r:.3f} {y - k:.3f} {x - k:.3f} {y - r:.3f} {x:.3f} {y - r:.3f} c {x + k:.3f} {y - r:.3f} {x + r:.3f} {y - k:.3f} {x + r:.3f} {y:.3f} c f ')


def ledger(out):
    chart, pdf = picture(23, 58, 49, 12), Pdf()
    font = pdf.add(HELVETICA)
    resources, side, x0, y0 = f'/Font << /F1 {font} 0 R >>', 16, 40, 800
    letters = 'abcdefghikmn'
    for left in (0, 31):
        w, h = min(31, chart['columns'] - left), chart['rows']
        w0 = 1                                                  # the first column of each sheet has the numbers
        c = ''
        for y in range(-1, h):
            for x in range(-1, w):
                x1, y1 = x0 + (x + w0) * side, y0 - (y + 2) * side
                if y1 < 0:
                    continue
                words = (str(left + x + 1) if y < 0 and x >= 0 else str(y + 1) if x < 0 and y >= 0 else '')
                c += f'.92 g {x1} {y1} {side} {side} re f 0 g\n' if x < 0 or y < 0 else ''
                if x >= 0 and y >= 0 and cell(chart, left + x, y) is not None:
                    words = letters[cell(chart, left + x, y)]
                c += f'.5 w .6 G {x1} {y1} {side} {side} re S\n'
                if words:
                    c += text(x1 + 5, y1 + 4, words, 8 if x >= 0 and y >= 0 else 6)
        pdf.page(c, resources)
    c, y = '', 760
    for row in [('Sign', 'Thread', 'Called', 'How many')] + [(letters[k], t['code'], t['name'], str(t['count'])) for k, t in enumerate(chart['threads'])]:
        for x, wide, words in zip((60, 110, 190, 320), (50, 80, 130, 70), row):
            c += f'.5 w .6 G {x} {y} {wide} 18 re S\n' + text(x + 4, y + 5, words, 9 if y == 760 or x != 60 else 8)
        y -= 18
    pdf.page(c, resources)
    save(chart, pdf, out, 'ledger')


def stamp(out):
    chart, pdf = picture(24, 40, 44, 10), Pdf()
    font = pdf.add(HELVETICA)
    rng = random.Random(8)
    dots = []
    for k in range(6):                                          # eleven by eleven dots, mirrored, unlike each other
        half = [[rng.random() < .45 for _ in range(6)] for _ in range(11)]
        dots.append([row + row[-2::-1] for row in half])
    tiles = []
    for k, path in enumerate(('0 0 m 4 4 l', '0 4 m 4 0 l', '0 2 m 4 2 l', '1 1 1.6 1.6 re')):
        tiles.append(pdf.add('/Type /Pattern /PatternType 1 /PaintType 1 /TilingType 1 /BBox [0 0 4 4] /XStep 4 /YStep 4 /Resources << >>', f'.8 w 0 G 0 g {path} {"f" if k == 3 else "S"}'))
    resources = f'/Font << /F1 {font} 0 R >> /Pattern << ' + ' '.join(f'/P{k} {t} 0 R' for k, t in enumerate(tiles)) + ' >>'
    side, x0, y0 = 12.6, 45, 740

    def sign(k, x, y, s):
        if k >= 6:
            return f'/Pattern cs /P{k - 6} scn {x:.2f} {y:.2f} {s} {s} re f 0 g\n'
        data = b''
        for row in dots[k]:
            bits = int(''.join('0' if dot else '1' for dot in row).ljust(16, '1'), 2)
            data += bits.to_bytes(2, 'big')
        return f'q {s * .7:.3f} 0 0 {s * .7:.3f} {x + s * .15:.3f} {y + s * .15:.3f} cm BI /W 11 /H 11 /IM true /BPC 1 /F /AHx ID {data.hex()}> EI Q\n'

    w, h = chart['columns'], chart['rows']
    c = ''
    for y in range(h):
        for x in range(w):
            if cell(chart, x, y) is not None:
                c += sign(cell(chart, x, y), x0 + x * side, y0 - (y + 1) * side, side)
    for n in range(w + 1):
        c += f'.3 g {x0 + n * side - .2:.2f} {y0 - h * side:.2f} {.9 if n % 10 == 0 else .4} {h * side:.2f} re f\n'
    for n in range(h + 1):
        c += f'.3 g {x0} {y0 - n * side - .2:.2f} {w * side} {.9 if n % 10 == 0 else .4} re f\n'
    pdf.page(c, resources)
    c, y = '', 740
    for k, thread in enumerate(chart['threads']):
        c += sign(k, 60, y - 5, 17) + f'.5 w 0 G 60 {y - 5} 17 17 re S 0 g\n' + text(100, y, thread['code'], 9) + text(170, y, thread['name'], 9) + text(300, y, str(thread['count']), 9)
        y -= 26
    pdf.page(c, resources)
    save(chart, pdf, out, 'stamp')


def twin(out):
    chart, pdf = picture(25, 66, 40, 9), Pdf()
    font = pdf.add(HELVETICA)
    rng = random.Random(9)
    glyphs = []
    for k in range(9):                                          # letters of a font that are pictures, as some typesetters write them
        rows = [[rng.random() < .5 for _ in range(4)] for _ in range(8)]
        data = b''.join(int(''.join('0' if dot else '1' for dot in row + row[::-1]), 2).to_bytes(1, 'big') for row in rows)
        glyphs.append(pdf.add('', f'9 0 0 0 8 8 d1 8 0 0 8 0 0 cm BI /W 8 /H 8 /IM true /BPC 1 /F /AHx ID {data.hex()}> EI'))
    signs = pdf.add(f'/Type /Font /Subtype /Type3 /FontBBox [0 0 8 8] /FontMatrix [.125 0 0 .125 0 0] /FirstChar 97 /LastChar 105 /Widths [{"9 " * 9}] '
                    f'/Encoding << /Type /Encoding /Differences [97 {" ".join(f"/{chr(97 + k)}" for k in range(9))}] >> /CharProcs << {" ".join(f"/{chr(97 + k)} {g} 0 R" for k, g in enumerate(glyphs))} >> /Resources << >>')
    resources, side, y0 = f'/Font << /F1 {font} 0 R /F2 {signs} 0 R >>', 11.8, 760
    for page in range(2):
        c = text(60, 800, f'Sheet {page + 1}', 12)
        for half in range(2):
            left, w = (page * 2 + half) * 17, min(17, chart['columns'] - (page * 2 + half) * 17)
            x0 = 60 + half * 255
            for y in range(chart['rows']):
                for x in range(w):
                    k = cell(chart, left + x, y)
                    if k is not None:
                        c += text(x0 + x * side + 2, y0 - (y + 1) * side + 2, chr(97 + k), 7.6, font='F2')
            c += '.4 w .2 G\n'
            for n in range(w + 1):
                c += f'{x0 + n * side:.2f} {y0} m {x0 + n * side:.2f} {y0 - chart["rows"] * side:.2f} l S\n'
                if (left + n) % 5 == 0 and n:
                    c += text(x0 + n * side - 3, y0 + 4, str(left + n), 6)
            for n in range(chart['rows'] + 1):
                c += f'{x0} {y0 - n * side:.2f} m {x0 + w * side:.2f} {y0 - n * side:.2f} l S\n'
                if n % 10 == 0 and n:
                    c += text(x0 - 12, y0 - n * side - 2, str(n), 6)
        if page == 1:
            y = 250
            for k, thread in enumerate(chart['threads']):
                c += text(60, y, chr(97 + k), 9, font='F2') + text(90, y, f'{thread["code"]} {thread["name"]}', 9) + text(230, y, f'{thread["count"]} crosses', 9)
                y -= 20
        pdf.page(c, resources)
    save(chart, pdf, out, 'twin')


if __name__ == '__main__':
    os.makedirs(sys.argv[1], exist_ok=True)
    for style in (jetty, cairn, ledger, stamp, twin):
        if len(sys.argv) < 3 or style.__name__ in sys.argv[2:]:
            style(sys.argv[1])
