#!/usr/bin/env python3
"""Draws the charts of tests/printed: printed as other programs might, in styles of our own, unlike each other.

    python3 draw.py OUT [STYLE...]     (reportlab 4; DejaVu fonts; chromium for `web`, pycairo for `lantern`)

Each style writes NAME.pdf and NAME.json (columns, rows, cells row by row as places among threads or null, threads with
code, name and count, lines with code and their ends). Threads, names and codes are invented. DejaVu: free to embed.
  tide   drawn sideways and turned by /Rotate; symbols are strokes and filled paths, many of them alike; rules are thin
         filled rectangles; pages go down first; a cover with a small picture of the whole; backstitch, knots
  dots   no rules: dots at the corners of squares; letters of one font; no numbers, two columns and rows repeated
  wash   squares of colour without symbols or rules, runs of one colour in one rectangle; the key shows swatches
  tens   rules at the tens alone, symbols and pale squares; symbols alike but for size, place and inner lines; no numbers
  lantern  by cairo, as two files: pages drawn sideways without /Rotate, a box stroked round every square, dark and light
         squares with white or black symbols, dotted backstitch in two colours; each square of the rulers numbered
  web    a page of HTML that a browser printed: squares with borders, symbols as text, a table as key
"""
import json, math, os, random, subprocess, sys, tempfile
try:
    from reportlab import rl_config
    from reportlab.lib.colors import HexColor
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont
    from reportlab.pdfgen.canvas import Canvas
    rl_config.useA85 = 0
except ImportError:                                              # `lantern` needs cairo alone
    pass

FONT = '/usr/share/fonts/truetype/dejavu/DejaVuSans.ttf'
WORDS = ['ebb', 'foam', 'gull', 'kelp', 'reef', 'sand', 'spray', 'weed', 'shell', 'stone', 'wave', 'drift', 'cove', 'buoy', 'rope', 'sail']
PLAIN = ['pale', 'deep', 'grey', 'old']


def picture(seed, columns, rows, threads, bare=.12):
    rng = random.Random(seed)
    waves = [(rng.uniform(.05, .22), rng.uniform(.05, .22), rng.uniform(0, 6.3)) for _ in range(4)]
    field = [[sum(math.sin(a * x + b * y + c) for a, b, c in waves) + rng.gauss(0, .25) for x in range(columns)] for y in range(rows)]
    order = sorted(v for row in field for v in row)
    steps = [order[int(len(order) * k / threads)] for k in range(threads)]
    cells = []
    for y in range(rows):
        for x in range(columns):
            cell = max(k for k in range(threads) if field[y][x] >= steps[k])
            off = math.hypot(x / columns - .5, y / rows - .5)
            cells.append(None if off > .58 or rng.random() < bare * .2 else (rng.randrange(threads) if rng.random() < .03 else cell))
    codes = rng.sample([f'{rng.choice("KMRT")}{n}' for n in range(11, 99)], threads)
    names = rng.sample([f'{p} {w}' for p in PLAIN for w in WORDS], threads)
    hue = rng.random() * 360
    colours = [shade((hue + 137.5 * k) % 360, .35 + .5 * ((k * 7) % threads) / threads) for k in range(threads)]
    found = [{'code': codes[k], 'name': names[k], 'colour': colours[k], 'count': cells.count(k)} for k in range(threads)]
    return {'columns': columns, 'rows': rows, 'cells': cells, 'threads': found, 'lines': []}


def shade(hue, light):
    import colorsys
    return '#%02x%02x%02x' % tuple(round(v * 255) for v in colorsys.hls_to_rgb(hue / 360, light, .5))


def pale(colour, part=.6):
    return '#' + ''.join('%02x' % round(int(colour[i:i + 2], 16) * (1 - part) + 255 * part) for i in (1, 3, 5))


def cell(chart, x, y):
    inside = 0 <= x < chart['columns'] and 0 <= y < chart['rows']
    return chart['cells'][y * chart['columns'] + x] if inside else None


def outlines(chart, of, code):
    """Upright and level stitches round the squares of a thread, joined to long lines; and some slanting ones."""
    lines = []
    for y in range(chart['rows'] + 1):
        x = 0
        while x < chart['columns']:
            start = x
            while x < chart['columns'] and (cell(chart, x, y - 1) == of) != (cell(chart, x, y) == of):
                x += 1
            if x > start:
                lines.append({'code': code, 'from': [start, y], 'to': [x, y]})
            x += 1
    for k in range(5):
        lines.append({'code': code, 'from': [3 + 4 * k, 2], 'to': [5 + 4 * k, 5]})
    chart['lines'] += lines


def save(chart, out, name):
    with open(os.path.join(out, name + '.json'), 'w') as file:
        json.dump(chart, file, separators=(',', ':'))
        file.write('\n')


def begin(out, name, size):
    canvas = Canvas(os.path.join(out, name + '.pdf'), pagesize=size, invariant=1, pageCompression=1)
    canvas.setAuthor('')
    if 'body' not in pdfmetrics.getRegisteredFontNames():
        pdfmetrics.registerFont(TTFont('body', FONT))
    return canvas


# ------------------------------------------------------------------------------------------------ tide

def tide_symbol(canvas, k, x, y, s):
    """Sixteen symbols in a square of side 1: pairs differ by a turn, by filling, or by one stroke."""
    canvas.saveState()
    canvas.translate(x, y)
    canvas.scale(s, s)
    canvas.setLineWidth(.08)
    canvas.setLineCap(0)
    canvas.setStrokeColor(HexColor('#111111'))
    canvas.setFillColor(HexColor('#111111'))
    path = canvas.beginPath()
    fill = stroke = 0
    if k in (0, 1, 2, 3):                                       # a triangle, turned
        canvas.translate(.5, .5)
        canvas.rotate(90 * k)
        path.moveTo(-.3, -.25); path.lineTo(.3, -.25); path.lineTo(0, .3); path.close()
        fill = 1
    elif k in (4, 5):                                           # a ring, a disc
        path.circle(.5, .5, .28)
        fill, stroke = (0, 1) if k == 4 else (1, 0)
    elif k in (6, 7):                                           # a cross of two strokes, and with a third
        canvas.line(.25, .25, .75, .75); canvas.line(.25, .75, .75, .25)
        if k == 7:
            canvas.line(.2, .5, .8, .5)
    elif k in (8, 9):                                           # a stroke up or down
        canvas.line(*(.25, .25, .75, .75) if k == 8 else (.25, .75, .75, .25))
    elif k in (10, 11):                                         # a square, filled or not
        path.rect(.26, .26, .48, .48)
        fill, stroke = (1, 0) if k == 10 else (0, 1)
    elif k in (12, 13):                                         # half a square
        path.rect(.22, .22, .28, .56) if k == 12 else path.rect(.5, .22, .28, .56)
        fill = 1
    elif k in (14, 15):                                         # a bow
        path.moveTo(.2, .4); path.curveTo(.35, .9, .65, .9, .8, .4)
        if k == 15:
            path.lineTo(.2, .4)
        stroke = 1
    if fill or stroke:
        canvas.drawPath(path, stroke=stroke, fill=fill)
    canvas.restoreState()


def tide(out):
    chart = picture(11, 64, 46, 16)
    outlines(chart, 5, 'T1')
    chart['knots'] = [[10, 10], [20, 12], [31, 30]]
    wide, tall = 792, 612                                       # as it is read
    canvas = begin(out, 'tide', (wide, tall))
    side, room = 11.3, (36, 30)

    def sheet():
        canvas.setPageRotation(90)
        canvas.transform(0, 1, -1, 0, tall, 0)

    sheet()
    canvas.setFont('body', 20)
    canvas.drawString(60, 540, 'Low tide')
    for y in range(chart['rows']):
        for x in range(chart['columns']):
            k = cell(chart, x, y)
            canvas.setFillColor(HexColor(chart['threads'][k]['colour'] if k is not None else '#fbf8f0'))
            canvas.rect(200 + x * 4, 480 - y * 4 - 4, 4, 4, stroke=0, fill=1)
    canvas.showPage()
    for left in range(0, chart['columns'], room[0]):
        for top in range(0, chart['rows'], room[1]):
            sheet()
            w, h = min(room[0], chart['columns'] - left), min(room[1], chart['rows'] - top)
            x0, y0 = 80, 540
            for y in range(h):
                for x in range(w):
                    k = cell(chart, left + x, top + y)
                    if k is not None:
                        tide_symbol(canvas, k, x0 + x * side, y0 - (y + 1) * side, side)
            for n in range(w + 1):
                bold = (left + n) % 10 == 0
                canvas.setFillColor(HexColor('#000000' if bold else '#7a8a99'))
                t = 1.2 if bold else .4
                canvas.rect(x0 + n * side - t / 2, y0 - h * side, t, h * side, stroke=0, fill=1)
            for n in range(h + 1):
                bold = (top + n) % 10 == 0
                canvas.setFillColor(HexColor('#000000' if bold else '#7a8a99'))
                t = 1.2 if bold else .4
                canvas.rect(x0, y0 - n * side - t / 2, w * side, t, stroke=0, fill=1)
            canvas.setFont('body', 6.5)
            canvas.setFillColor(HexColor('#000000'))
            for n in range(1, w + 1):                           # numbers over the fifth squares
                if (left + n) % 5 == 0:
                    canvas.drawCentredString(x0 + (n - .5) * side, y0 + 3, str(left + n))
            for n in range(1, h + 1):
                if (top + n) % 5 == 0:
                    canvas.drawRightString(x0 - 3, y0 - (n - .5) * side - 2.3, str(top + n))
            canvas.setStrokeColor(HexColor('#1144aa'))
            canvas.setLineWidth(2)
            for line in chart['lines']:
                (ax, ay), (bx, by) = line['from'], line['to']
                ax, bx, ay, by = ax - left, bx - left, ay - top, by - top
                if max(ax, bx) < 0 or max(ay, by) < 0 or min(ax, bx) > w or min(ay, by) > h:
                    continue
                t0, t1 = 0, 1                                   # cut to the page, so that pieces end between holes
                for p, q in ((-(bx - ax), ax), (bx - ax, w - ax), (-(by - ay), ay), (by - ay, h - ay)):
                    if p < 0: t0 = max(t0, q / p)
                    elif p > 0: t1 = min(t1, q / p)
                    elif q < 0: t1 = -1
                if t1 - t0 > 1e-9:
                    at = lambda t: (x0 + (ax + (bx - ax) * t) * side, y0 - (ay + (by - ay) * t) * side)
                    canvas.line(*at(t0), *at(t1))
            canvas.setFillColor(HexColor('#cc2200'))
            for x, y in chart['knots']:
                if left <= x < left + w and top <= y < top + h:
                    canvas.circle(x0 + (x - left) * side, y0 - (y - top) * side, side * .22, stroke=0, fill=1)
            canvas.showPage()
    sheet()
    canvas.setFont('body', 9)
    for k, thread in enumerate(chart['threads']):
        x, y = 90 + k // 8 * 330, 500 - k % 8 * 30
        canvas.setStrokeColor(HexColor('#000000'))
        canvas.setLineWidth(.5)
        canvas.rect(x, y, 18, 18, fill=0)
        tide_symbol(canvas, k, x, y, 18)
        canvas.setFillColor(HexColor('#000000'))
        canvas.drawString(x + 34, y + 5, thread['code'])
        canvas.drawString(x + 80, y + 5, thread['name'])
        canvas.drawRightString(x + 230, y + 5, f"{thread['count']:,}")
    y = 210
    canvas.setStrokeColor(HexColor('#1144aa'))
    canvas.setLineWidth(2)
    canvas.line(90, y + 3, 116, y + 3)
    canvas.drawString(124, y, 'T1')
    canvas.drawString(170, y, 'harbour wall')
    canvas.save()
    save(chart, out, 'tide')


# ------------------------------------------------------------------------------------------------ dots

def parts(total, room, again):
    found, start = [], 0
    while True:
        end = min(total, start + room)
        found.append((start, end))
        if end == total:
            return found
        start = end - again


def dots(out):
    chart = picture(12, 58, 61, 20, bare=.3)
    signs = 'OQCGDo0cUVvuIl1i.:;,'
    canvas = begin(out, 'dots', (595.276, 841.89))
    side = 12.6
    x0, y0 = 50, 780
    for top, bottom in parts(chart['rows'], 40, 2):
        for left, right in parts(chart['columns'], 38, 2):
            w, h = right - left, bottom - top
            canvas.setFillColor(HexColor('#888888'))
            for y in range(h + 1):
                for x in range(w + 1):
                    canvas.circle(x0 + x * side, y0 - y * side, .6, stroke=0, fill=1)
            canvas.setFillColor(HexColor('#000000'))
            canvas.setFont('body', 9.5)
            for y in range(h):
                for x in range(w):
                    k = cell(chart, left + x, top + y)
                    if k is not None:
                        canvas.drawCentredString(x0 + (x + .5) * side, y0 - (y + .76) * side, signs[k])
            canvas.drawString(x0, 40, f'Seed packet, sheet')
            canvas.showPage()
    for k, thread in enumerate(chart['threads']):
        y = 740 - k * 26
        canvas.setFont('body', 12)
        canvas.drawCentredString(80, y, signs[k])
        canvas.setFont('body', 8)
        canvas.drawString(110, y + 1, thread['name'])
        canvas.drawString(240, y + 1, thread['code'])
        canvas.drawRightString(330, y + 1, str(thread['count']))
        canvas.drawRightString(370, y + 1, '3')
        canvas.setFillColor(HexColor(thread['colour']))
        canvas.rect(400, y - 3, 30, 12, stroke=0, fill=1)
        canvas.setFillColor(HexColor('#000000'))
    canvas.save()
    save(chart, out, 'dots')


# ------------------------------------------------------------------------------------------------ wash

def wash(out):
    chart = picture(13, 71, 52, 18)
    canvas = begin(out, 'wash', (841.89, 595.276))
    side, x0, y0 = 9.1, 60, 540
    for y in range(chart['rows']):
        x = 0
        while x < chart['columns']:
            start, k = x, cell(chart, x, y)
            while x < chart['columns'] and cell(chart, x, y) == k:
                x += 1
            if k is not None:
                canvas.setFillColor(HexColor(chart['threads'][k]['colour']))
                canvas.rect(x0 + start * side, y0 - (y + 1) * side, (x - start) * side, side, stroke=0, fill=1)
    canvas.showPage()
    canvas.setFillColor(HexColor('#000000'))
    canvas.setFont('body', 14)
    canvas.drawString(60, 545, 'Wash of colours')
    for k, thread in enumerate(chart['threads']):
        x, y = 60 + k // 9 * 360, 500 - k % 9 * 40
        canvas.setFillColor(HexColor(thread['colour']))
        canvas.rect(x, y, 40, 24, stroke=0, fill=1)
        canvas.setFillColor(HexColor('#000000'))
        canvas.setFont('body', 10)
        canvas.drawString(x + 52, y + 8, f"{thread['code']}  {thread['name']}")
        canvas.drawString(x + 220, y + 8, f"{thread['count']} stitches")
    canvas.save()
    save(chart, out, 'wash')


# ------------------------------------------------------------------------------------------------ tens

def tens_symbol(canvas, k, x, y, s):
    """Discs and rings of several sizes, high and low dashes, squares with one line or two inside."""
    canvas.setFillColor(HexColor('#000000'))
    canvas.setStrokeColor(HexColor('#000000'))
    canvas.setLineWidth(.06 * s)
    if k < 3:
        canvas.circle(x + .5 * s, y + .5 * s, (.1, .2, .3)[k] * s, stroke=0, fill=1)
    elif k < 5:
        canvas.circle(x + .5 * s, y + .5 * s, (.18, .32)[k - 3] * s, stroke=1, fill=0)
    elif k < 8:
        canvas.rect(x + .2 * s, y + (.2, .45, .7)[k - 5] * s, .6 * s, .1 * s, stroke=0, fill=1)
    else:
        canvas.rect(x + .2 * s, y + .2 * s, .6 * s, .6 * s, stroke=1, fill=0)
        if k in (9, 11):
            canvas.line(x + .2 * s, y + .5 * s, x + .8 * s, y + .5 * s)
        if k in (10, 11):
            canvas.line(x + .5 * s, y + .2 * s, x + .5 * s, y + .8 * s)


def tens(out):
    chart = picture(14, 55, 40, 12)
    canvas = begin(out, 'tens', (612, 792))
    side, x0, y0 = 13.7, 60, 730
    for left in (0, 30):
        w, h = min(30, chart['columns'] - left), chart['rows']
        for y in range(h):
            for x in range(w):
                k = cell(chart, left + x, y)
                if k is not None:
                    canvas.setFillColor(HexColor(pale(chart['threads'][k]['colour'])))
                    canvas.rect(x0 + x * side, y0 - (y + 1) * side, side, side, stroke=0, fill=1)
                    tens_symbol(canvas, k, x0 + x * side, y0 - (y + 1) * side, side)
        canvas.setStrokeColor(HexColor('#000000'))
        canvas.setLineWidth(.9)
        for n in sorted({*range(0, w + 1, 10), w}):
            canvas.line(x0 + n * side, y0, x0 + n * side, y0 - h * side)
        for n in sorted({*range(0, h + 1, 10), h}):
            canvas.line(x0, y0 - n * side, x0 + w * side, y0 - n * side)
        canvas.showPage()
    canvas.setFont('body', 9)
    for k, thread in enumerate(chart['threads']):
        y = 700 - k * 30
        canvas.setFillColor(HexColor(pale(thread['colour'])))
        canvas.setStrokeColor(HexColor('#444444'))
        canvas.setLineWidth(.4)
        canvas.rect(90, y, 20, 20, stroke=1, fill=1)
        tens_symbol(canvas, k, 90, y, 20)
        canvas.setFillColor(HexColor('#000000'))
        canvas.drawString(130, y + 6, thread['code'])
        canvas.drawString(180, y + 6, thread['name'])
        canvas.drawString(300, y + 6, str(thread['count']))
    canvas.save()
    save(chart, out, 'tens')


# ------------------------------------------------------------------------------------------------ web

def web(out):
    chart = picture(15, 40, 44, 14)
    signs = '◐◑◒◓▲△▼▽◆◇■□●○'
    rows = ''
    for y in range(chart['rows']):
        row = ''.join(
            f'<td{" class=t" if (x + 1) % 10 == 0 else ""} style="background:{pale(chart["threads"][k]["colour"]) if k is not None else "#fff"}">{signs[k] if k is not None else ""}</td>'
            for x in range(chart['columns']) for k in [cell(chart, x, y)])
        rows += f'<tr{" class=t" if (y + 1) % 10 == 0 else ""}>{row}<th>{y + 1 if (y + 1) % 10 == 0 else ""}</th></tr>'
    key = ''.join(f'<tr><td class=s style="background:{pale(t["colour"])}">{signs[k]}</td><td>{t["code"]}</td><td>{t["name"]}</td><td>2</td><td>{t["count"]}</td></tr>' for k, t in enumerate(chart['threads']))
    page = f'''<meta charset=utf-8><style>@page{{size:A4;margin:12mm}} body{{font:9pt "DejaVu Sans"}}
.c{{border-collapse:collapse;table-layout:fixed;width:{40 * 12 + 30}px}} .c td{{width:12px;height:12px;padding:0;border:1px solid #999;font-size:8px;line-height:11px;text-align:center;overflow:hidden}}
.c th{{width:30px;font-size:7px;line-height:7px;vertical-align:bottom}} .c td.t{{border-right:2px solid #000}} tr.t td{{border-bottom:2px solid #000 !important}} .k{{break-before:page}} .k td{{padding:3px 14px}} .s{{font-size:14pt;text-align:center}}
</style><h3>Window over the bay</h3><table class=c>{rows}</table><table class=k><tr><th>Sign<th>Thread<th>Called<th>Strands<th>Stitches</tr>{key}</table>'''
    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, 'chart.html')
        with open(path, 'w') as file:
            file.write(page)
        subprocess.run(['chromium', '--headless', '--no-sandbox', '--disable-gpu', '--no-pdf-header-footer', f'--user-data-dir={folder}/p',
                        f'--print-to-pdf={os.path.join(out, "web.pdf")}', 'file://' + path], check=True, capture_output=True)
    save(chart, out, 'web')


# ------------------------------------------------------------------------------------------------ lantern

def lantern(out):
    import cairo
    chart = picture(16, 52, 33, 15)
    outlines(chart, 3, 'N1')
    first, chart['lines'] = chart['lines'], []
    outlines(chart, 9, 'N2')
    taken = {(tuple(l['from']), tuple(l['to'])) for l in first}
    chart['lines'] = first + [l for l in chart['lines'] if (tuple(l['from']), tuple(l['to'])) not in taken]
    signs, side, x0, y0 = 'ΓΔΘΛΞΠΣΦΨΩαβγδε', 14, 50, 60

    def ink(context, colour):
        context.set_source_rgb(*(int(colour[i:i + 2], 16) / 255 for i in (1, 3, 5)))

    def sheet(surface):
        context = cairo.Context(surface)
        context.select_font_face('DejaVu Sans')
        context.translate(595, 0)                                # the page is read after a turn to the left
        context.rotate(math.pi / 2)
        return context

    def words(context, x, y, text, size, at=0.0):
        context.set_font_size(size)
        context.move_to(x - at * context.text_extents(text).x_advance, y)
        context.show_text(text)

    for page, (left, right) in enumerate([(0, 30), (30, 52)]):
        surface = cairo.PDFSurface(os.path.join(out, f'lantern-{page + 1}.pdf'), 595, 842)
        surface.set_metadata(cairo.PDFMetadata.CREATE_DATE, '2026-01-01T00:00:00')
        context = sheet(surface)
        w, h = right - left, chart['rows']
        for y in range(h):
            for x in range(w):
                k = cell(chart, left + x, y)
                context.rectangle(x0 + x * side, y0 + y * side, side, side)
                colour = chart['threads'][k]['colour'] if k is not None else '#ffffff'
                ink(context, colour)
                context.fill()
                if k is not None:
                    dark = sum(int(colour[i:i + 2], 16) for i in (1, 3, 5)) < 384
                    ink(context, '#ffffff' if dark else '#000000')
                    words(context, x0 + (x + .5) * side, y0 + (y + .75) * side, signs[k], 10, .5)
        for y in range(h):
            for x in range(w):
                context.rectangle(x0 + x * side, y0 + y * side, side, side)
        ink(context, '#aaaaaa')
        context.set_line_width(.5)
        context.stroke()
        ink(context, '#000000')
        for n in range(w):
            words(context, x0 + (n + .5) * side, y0 - 3, str(left + n + 1), 5, .5)
        for n in range(h):
            words(context, x0 - 2, y0 + (n + .5) * side + 2, str(n + 1), 5, 1)
        for code, colour in (('N1', '#d01050'), ('N2', '#10a040')):
            context.set_line_width(2.2)
            context.set_dash([2.2, 2.6])
            ink(context, colour)
            context.save()
            context.rectangle(x0 - 2, y0 - 2, w * side + 4, h * side + 4)
            context.clip()
            for line in chart['lines']:
                if line['code'] == code:
                    context.move_to(x0 + (line['from'][0] - left) * side, y0 + line['from'][1] * side)
                    context.line_to(x0 + (line['to'][0] - left) * side, y0 + line['to'][1] * side)
                    context.stroke()
            context.restore()
            context.set_dash([])
        if page == 1:                                            # the key beside the last part of the chart
            for k, thread in enumerate(chart['threads']):
                x, y = 420, 80 + k * 24
                context.rectangle(x, y, 16, 16)
                ink(context, thread['colour'])
                context.fill()
                dark = sum(int(thread['colour'][i:i + 2], 16) for i in (1, 3, 5)) < 384
                ink(context, '#ffffff' if dark else '#000000')
                words(context, x + 8, y + 12, signs[k], 11.4, .5)
                ink(context, '#000000')
                words(context, x + 30, y + 12, thread['code'], 9)
                words(context, x + 80, y + 12, thread['name'], 9)
                words(context, x + 170, y + 12, f'{thread["count"]} st', 9)
            for k, (code, name, colour) in enumerate((('N1', 'lamp', '#d01050'), ('N2', 'lawn', '#10a040'))):
                ink(context, colour)
                context.set_line_width(2.2)
                context.set_dash([2.2, 2.6])
                context.move_to(420, 460 + 20 * k)
                context.line_to(444, 460 + 20 * k)
                context.stroke()
                context.set_dash([])
                ink(context, '#000000')
                words(context, 450, 463 + 20 * k, code, 9)
                words(context, 500, 463 + 20 * k, name, 9)
        surface.finish()
    save(chart, out, 'lantern')


if __name__ == '__main__':
    os.makedirs(sys.argv[1], exist_ok=True)
    for style in (tide, dots, wash, tens, web, lantern):
        if len(sys.argv) < 3 or style.__name__ in sys.argv[2:]:
            style(sys.argv[1])
