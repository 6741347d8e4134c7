// The page in real browsers, from an empty workbasket to checked pages: `npm run tour`, with BREDE naming the binary,
// BROWSERS those that are driven (chromium, firefox; else both), CHROMIUM and FIREFOX where they are (else /usr/bin).
// Pictures of every screen are written into SHOTS, where that is named.

import assert from "node:assert/strict";
import path from "node:path";
import test from "node:test";
import { accessible, all, Brede, browsers, Hand, PATIENCE, printed, samples, shotsOf } from "./hand.mjs";

const wanted = (process.env.BROWSERS ?? "chromium,firefox").split(",");

/** brede, with pieces in its workbasket or with none, and a hand in a browser; both end with the test. @param {import("node:test").TestContext} t @param {string} kind @param {{ filled: boolean, as?: string }} how */
async function begun(t, kind, { filled, as }) {
  const brede = await Brede.open();
  const browser = await browsers[kind]();
  t.after(async () => {
    await browser.close();
    brede.end();
  });
  if (filled) await brede.fill();
  return { brede, browser, hand: await Hand.on(browser, kind, as) };
}

for (const kind of wanted) {
  test(`${kind}: from an empty workbasket to checked pages`, { timeout: 6 * PATIENCE }, async (t) => {
    const { brede, browser, hand } = await begun(t, kind, { filled: false });
    const judge = accessible(hand, shotsOf(kind));

    await hand.goto(brede.address);
    await hand.sees("being made for you to look at");
    assert.equal(await hand.address(), "", "the key stays in the address");
    await judge("first", { quick: true });
    // The piece that an empty workbasket gets, made while one waits.
    await hand.sees("Rock pool", { in: ".piece" });
    await hand.sees("brede runs on when this window is closed");
    await judge("basket");

    await hand.press("Begin from a photo");
    await hand.sees("Choose a photo");
    await judge("ask");
    // Telephones make a JPEG of what they have where nothing else is asked for.
    assert.equal(await hand.on((page) => page.$eval(".empty input[type=file]", (input) => input.accept)), "image/jpeg,image/png");
    await hand.brings(".empty input[type=file]", path.join(samples, "rock-pool.jpg"));
    await hand.sees("Which part of the photo?");
    // Inches and letter paper where both are usual (Unicode CLDR: the United States), else neither.
    const isAmerican = await hand.on((page) => page.evaluate(() => navigator.language === "en-US"));
    assert.equal(await hand.chosen("unit"), isAmerican ? "in" : "cm");
    await hand.writes("Squares across", "60");
    await hand.charted();
    // A number of threads can be written, or drawn; for the 2 of 26 no chart is made.
    await hand.on((page) => page.$eval(".slide [type=number]", (field) => {
      const { fetch } = window;
      window.tried = 0;
      window.fetch = (to, ...how) => {
        window.tried += Number(String(to).endsWith("/try"));
        return fetch(to, ...how);
      };
      for (const text of ["2", "26"]) {
        field.value = text;
        field.dispatchEvent(new Event("input"));
      }
    }));
    assert.equal(await hand.on((page) => page.$eval("#threads", (slid) => slid.value)), "26");
    await hand.charted();
    assert.equal(await hand.on((page) => page.evaluate(() => window.tried)), 1, "charts made while 26 is written");
    await hand.on((page) => page.$eval("#threads", (slid) => {
      slid.value = "24";
      slid.dispatchEvent(new Event("input"));
    }));
    assert.equal(await hand.on((page) => page.$eval(".slide [type=number]", (field) => field.value)), "24");
    await hand.charted();
    // The first chart shows itself; the frame is one press away.
    await hand.gone("Drag the frame");
    // Which part is chosen is seen, also once a hand has moved the frame, and after another place.
    assert.equal(await hand.chosen("part"), "all");
    await hand.press("Square");
    await hand.sees("Drag the frame");
    await hand.focus(".part");
    await hand.key("ArrowLeft");
    assert.equal(await hand.chosen("part"), "1");
    await hand.press("See or write down threads");
    await hand.sees("Skeins I have");
    await hand.back();
    await hand.charted();
    assert.equal(await hand.chosen("part"), "1");
    await hand.press("All of it");
    await hand.focus(".part");
    await hand.key("-");
    assert.equal(await hand.chosen("part"), "hand");
    await hand.press("All of it");
    assert.equal(await hand.chosen("part"), "all");
    await hand.charted();
    await hand.press("Stitched");
    await hand.press("Choose by hand");
    await hand.sees("Drag the frame");
    await judge("part");
    await hand.press("Stitched");
    await judge("stitched");
    await hand.press(/^across a room, /);
    await hand.charted();
    await hand.press(/^As seen from (4 m|13 feet)$/);
    await judge("far", { quick: true });
    // The cloth and the frame at hand say which count and size go on them.
    await hand.press("Which goes on the cloth and frame I have?");
    await hand.writes(/^Cloth across in (cm|inches)$/, "30");
    await hand.writes(/^Frame across in /, "12");
    await hand.sees("As large as it goes:");
    await judge("at-hand");
    await hand.writes(/^Frame across in /, "300");
    await hand.press("Which goes on the cloth and frame I have?");
    // Two choices beside each other.
    // The button for that lies over the bottom edge, and what is said in it, beside what is pressed there.
    await hand.on((page) => page.evaluate(() => scrollTo(0, 0)));
    const [low, edge] = await hand.on((page) => page.$$eval(".under button, .edge", (all) => all.map((one) => one.getBoundingClientRect()).map(({ top, bottom }) => (bottom < innerHeight ? bottom : top))));
    assert.ok(low <= edge, `the button ends at ${low}, the edge begins at ${edge}`);
    await hand.press("Compare with another choice");
    await hand.sees("Now change threads, cloth or size");
    const said = await hand.on((page) => page.$eval(".said.here", (one) => {
      const [box, edge, first] = [one, document.querySelector(".edge"), document.querySelector(".edge .first")].map((each) => each.getBoundingClientRect());
      return box.top >= edge.top && box.bottom <= innerHeight && box.right < first.left;
    }));
    assert.ok(said, "what is said covers something");
    await hand.press("navy");
    await hand.charted();
    // What is chosen now stands beside what is held; held too, it stands there once.
    await hand.press("Side by side");
    await hand.sees("“Keep” keeps this one", { in: ".choices li:last-child" });
    await judge("choices");
    assert.equal(await hand.count(".choices li"), 2);
    // Gone on with the other: all stays where it is, but for what is chosen; and back.
    await hand.writes("What is it called?", "A name");
    const tops = () => hand.on((page) => page.$$eval(".question, .choices canvas", (all) => all.map((one) => Math.round(one.getBoundingClientRect().top))));
    const stands = await tops();
    await hand.press(/^Go on with .*cream/);
    await hand.sees("“Keep” keeps this one", { in: ".choices li:first-child" });
    await hand.charted();
    assert.deepEqual([await hand.chosen("showing"), await hand.chosen("cloth"), await hand.count(".choices li")], ["choices", "#f4ecd8", 2]);
    await hand.on((page) => page.evaluate(() => document.querySelector("input[maxlength='120']").scrollIntoView({ block: "center" })));
    assert.deepEqual(await tops(), stands, "something moved under the hand");
    assert.equal(await hand.on((page) => page.$eval("input[maxlength='120']", (name) => name.value)), "A name");
    await hand.press(/^Go on with .*navy/);
    await hand.charted();
    await hand.press("Compare with another choice");
    assert.equal(await hand.count(".choices li"), 2);
    await hand.press(/^Go on with .*cream/);
    await hand.charted();
    await hand.press(/^Leave this one out: .*navy/);
    assert.equal(await hand.count(".choices li"), 1);

    // A card of one's own, brought and then mended in its table.
    await hand.drops(path.join(samples, "tin-of-threads.csv"));
    await hand.sees("tin-of-threads, ");
    await hand.press("See or write down threads");
    await hand.sees("Skeins I have");
    await judge("card");
    // An empty list to write down what is there; what was there can be taken back.
    const rows = await hand.count("tbody tr");
    await hand.press("Begin an empty list");
    await hand.sees("1 thread");
    assert.equal(await hand.count("tbody tr"), 1);
    await hand.press("Take back");
    await hand.sees(/^(?!1 thread$)\d+ threads$/);
    assert.equal(await hand.count("tbody tr"), rows);
    await hand.press("Add a thread");
    await hand.writes("Code: new thread", "T900");
    await hand.writes("Name: new thread", "Sea glass, old");
    await hand.press("Keep this card");
    await hand.sees("Which part of the photo?");
    await hand.charted();
    await hand.writes("What is it called?", "Low tide <b>&amp;");
    await hand.press("Keep in the workbasket");

    await hand.sees("Low tide <b>&amp;", { in: "h1" });
    // What is said in passing lies on no button.
    const lies = await hand.on((page) => page.evaluate(() => document.querySelector(".said.here")?.getBoundingClientRect().bottom - document.querySelector(".edge").getBoundingClientRect().top));
    assert.ok(!(lies > 0), `what is said lies ${lies} pixels over the edge`);
    await judge("piece");
    await hand.sees(/./, { in: ".thread-name" });
    const cut = await hand.on((page) => page.$$eval(".thread-name", (names) => names.filter((name) => name.scrollWidth > name.clientWidth).map((name) => name.textContent)));
    assert.deepEqual(cut, []);
    // By keys alone: the square that is focused speaks.
    await hand.focus("canvas.chart");
    await hand.key("ArrowRight");
    await hand.key("ArrowDown", "Shift");
    await hand.sees(/^Row 11, column 1: /, { in: ".here" });
    const firstAt = () => hand.on((page) => page.$eval(".thread", (thread) => thread.getBoundingClientRect().top));
    const stood = await firstAt();
    await hand.press(".thread");
    await hand.sees(/stands out$/, { in: ".here" });
    assert.equal(await firstAt(), stood, "the list moved under the hand");
    await judge("front", { quick: true });
    await hand.press("Show all threads");
    // Each way to look at it is a picture of its own.
    const looks = new Set();
    for (const way of ["Symbols", "Colours", "Stitched", "Both"]) {
      await hand.press(way);
      looks.add(await hand.rested("canvas.chart"));
    }
    assert.equal(looks.size, 4);
    await hand.press("Go to");
    await judge("go", { quick: true });
    await hand.writes("Row", "30");
    await hand.writes("Column", "40");
    await hand.press("Go");
    await hand.sees(/^Row 30, column 40: /, { in: ".here" });

    await hand.press("Print");
    await hand.sees(/of them chart with squares of/);
    assert.equal(await hand.chosen("paper"), isAmerican ? "letter" : "a4");
    await judge("print");
    // A page is shown in its own shape.
    const shape = await hand.on((page) => page.$eval(".sheet", (sheet) => [sheet.clientWidth / sheet.clientHeight, sheet.naturalWidth / sheet.naturalHeight]));
    assert.ok(Math.abs(shape[0] / shape[1] - 1) < 0.01, `a page of ${shape[1]} is shown as ${shape[0]}`);
    await hand.press("Black only");
    await hand.press("Make the pages");
    await hand.sees(/^Checked: all [\d,]+ squares/, { in: ".came .done" });
    await judge("printed");
    // What was pressed last is followed by what is pressed next, in the same place.
    assert.ok(await hand.on((page) => page.evaluate(() => document.querySelector(".edge").lastElementChild.matches("a.first[href*=sheets]"))), "the pages are not opened where they were made");
    const sheets = await hand.on((page) => page.$eval(".edge a.first", (link) => link.getAttribute("href")));
    // They can be saved as a file, too; what was made needs no other making.
    const save = await hand.on((page) => page.evaluate(() => [...document.querySelectorAll("a[download]")].map((link) => [link.textContent, link.getAttribute("href")])));
    assert.deepEqual(save, [["Save the PDF", sheets]]);
    await hand.gone("Make the pages");
    const head = await hand.on((page) => page.evaluate(async (from) => (await (await fetch(from)).text()).slice(0, 5), sheets));
    assert.equal(head, "%PDF-");
    await hand.back();
    await hand.sees(/^Low tide/, { in: "h1" });
    // What was printed can be gone to by its pages.
    await hand.press("Go to");
    assert.ok((await hand.count("#page option")) > 1, "no page to go to");

    // Renamed, copied, put away, brought back; each is one press, and the one before it is one press back.
    await hand.goto(`${brede.place}#/`);
    await hand.press(/^Rename, copy, begin again or put away: Low tide/);
    await hand.writes(/^Name of Low tide/, "Spring tide");
    await hand.press("Rename");
    await hand.sees("is now called Spring tide");
    await hand.press("Take back");
    await hand.sees("Low tide <b>&amp;", { in: ".piece strong" });
    await hand.press("Make a copy");
    await hand.sees("Low tide <b>&amp;, copy", { in: ".piece strong" });
    await judge("changes");
    await hand.press("Put away");
    await hand.sees("Put away: 1 piece");
    await judge("away");
    await hand.press(/^Bring back /);
    await hand.gone("Put away: 1 piece");

    // Begun again from its picture, by its settings; of two that are called the same, one gets a name of its own.
    await hand.press(/^Rename, copy, begin again or put away: Low tide <b>&amp;$/);
    await hand.press("Begin again from its picture");
    await hand.sees("Begun again as it was made.");
    await hand.charted();
    const asked = await hand.on((page) => page.evaluate(() => [document.getElementById("across").value, document.getElementById("threads").value]));
    assert.deepEqual(asked, ["60", "24"]);
    await hand.writes("Squares across", "50");
    await hand.charted();
    await hand.press("Keep in the workbasket");
    await hand.sees("and so is another of that name");
    await judge("same-name", { quick: true });
    await hand.goto(`${brede.place}#/`);
    await hand.sees(/50 × \d+ stitches, .*, kept on /, { in: ".piece" });
    await judge("twins", { quick: true });
    await hand.press(/^Call it Low tide <b>&amp; 2$/);
    await hand.sees("Low tide <b>&amp; 2", { in: ".piece strong" });
    await hand.gone("kept on");
    // Begun again under its new name, and kept as it is: that is the piece, and no twin of it.
    await hand.press(/^Rename, copy, begin again or put away: Low tide <b>&amp; 2$/);
    await hand.press("Begin again from its picture");
    await hand.charted();
    await hand.press("Keep in the workbasket");
    await hand.sees("Low tide <b>&amp; 2 was in the workbasket already.");
    await hand.goto(`${brede.place}#/`);
    await hand.sees("Low tide <b>&amp; 2", { in: ".piece strong" });

    // Other windows of the same browser are let in; what one does the others see by themselves.
    const windows = [];
    for (let at = 0; at < 9; at += 1) windows.push(await hand.another(brede.place));
    for (const window of windows) await window.sees("Low tide", { in: ".piece" });
    await hand.show();
    await hand.press(/^Rename, copy, begin again or put away: Rock pool/);
    await hand.writes(/^Name of Rock pool/, "Our rock pool");
    await hand.press("Rename");
    await windows[8].show();
    await windows[8].sees("Our rock pool", { in: ".piece" });
    for (const window of windows) await window.close();
    await hand.show();

    // What has no cookie and no key is shown nothing.
    const stranger = await Hand.on(browser, kind, "apart");
    await stranger.goto(brede.address);
    await stranger.sees("This page needs a new address");
    await accessible(stranger, shotsOf(kind))("locked", { quick: true });
    await stranger.close();

    // brede is killed in the middle, and comes back: the page says both, and goes on with what was chosen.
    await hand.drops(path.join(samples, "little-boat.png"));
    await hand.charted();
    await brede.kill();
    hand.forgets();
    await hand.writes("What is it called?", "A boat");
    await hand.press("Keep in the workbasket");
    await hand.sees("brede has stopped on this computer");
    await judge("stopped", { quick: true });
    await brede.again();
    await hand.sees("brede is back");
    await hand.press("Keep in the workbasket");
    await hand.sees("A boat", { in: "h1" });
    hand.forgets();

    await hand.goto(`${brede.place}#/`);
    await hand.sees("A boat", { in: ".piece" });
    await hand.press("Close brede");
    await hand.sees("brede is closed");
    assert.equal(await brede.ended(), 0);
    assert.deepEqual(all(hand), []);
  });

  test(`${kind}: a chart that was printed elsewhere is dropped on the page, read, named and printed there`, { timeout: 3 * PATIENCE }, async (t) => {
    const { brede, hand } = await begun(t, kind, { filled: true });
    const judge = accessible(hand, shotsOf(kind));
    await hand.goto(brede.address);
    await hand.sees("Tide line", { in: ".piece" });

    // What is no chart says so, and what to do.
    await hand.drops(path.join(samples, "tin-of-threads.csv"));
    await hand.sees("is neither a photo nor a chart");
    await hand.drops(brede.chart);
    await hand.sees(/was in the workbasket already/);
    await hand.press("Tide line");
    await hand.sees("<b>kelp</b>", { in: ".line" });
    await hand.goto(`${brede.place}#/`);
    await hand.sees("Tide line", { in: ".piece" });
    // Two files of one chart, its key on a page of the second.
    await hand.drops(path.join(printed, "lantern-1.pdf"), path.join(printed, "lantern-2.pdf"));
    await hand.sees("52 × 33 squares on");
    await hand.sees("Every symbol is clear");
    await hand.sees("its maker's terms and local law decide");
    await judge("paper-pages");
    await hand.goto(`${brede.place}#/`);
    await hand.sees("read: every symbol is clear");
    await judge("paper-basket");
    await hand.press("Put away: Lantern 1");
    await hand.sees("Put away: 1 piece");
    await hand.press("Take back");
    await hand.gone("Put away: 1 piece");

    // The first file alone lacks the key: its symbols are asked for.
    await hand.drops(path.join(printed, "lantern-1.pdf"));
    await hand.sees(/\d+ symbols are not clear yet/);
    await judge("paper-asked");
    const asked = () => hand.on((page) => page.$$eval(".symbol-asked", (found) => found.length));
    const all15 = await asked();
    assert.equal(all15, 15);
    // A thread that is written down.
    await hand.press("A thread that is not listed");
    await hand.writes("Code", "K7");
    await hand.writes("Name", "kelp");
    await judge("paper-written", { quick: true });
    await hand.press("Use this thread");
    await hand.sees("Symbol 1: K7 kelp.");
    assert.equal(await asked(), all15 - 1);
    // One that is known by now is found by its name, by keys alone.
    await hand.reaches("Thread");
    await hand.page.keyboard.type("kel");
    await hand.sees("K7 kelp", { in: ".found:not([hidden]) li" });
    await judge("paper-found", { quick: true });
    await hand.focus("details[open] [role=combobox]");
    await hand.key("ArrowDown");
    await hand.key("Enter");
    await hand.sees("Symbol 2: K7 kelp.");
    await hand.press("Nothing is stitched there");
    await hand.sees("Symbol 3: left bare.");
    assert.equal(await asked(), all15 - 3);
    await hand.press("Take back");
    await hand.sees("Symbol 3 is as it was before.");
    assert.equal(await asked(), all15 - 2);
    // Where it stands, and each square by keys.
    await hand.press("Show where it stands");
    await hand.focus(".begin canvas.chart");
    await hand.key("ArrowRight");
    await hand.sees(/^Row 1, column 1: /, { in: ".figures" });
    await judge("paper-where");

    // Gone on with on another day: brede was killed meanwhile.
    await brede.kill();
    await brede.again();
    hand.forgets();
    await hand.goto(`${brede.place}#/`);
    await hand.sees("half read: 13 symbols are not clear yet");
    await judge("paper-half", { quick: true });
    hand.forgets();
    await hand.press(".piece-link");
    await hand.sees("13 symbols are not clear yet");
    await hand.writes("What is it called?", "Half a lantern");
    await hand.press("Keep in the workbasket");

    // A piece as any other, its paper's symbols beside ours.
    await hand.sees("Half a lantern", { in: "h1" });
    await hand.sees("Beside each symbol, the one that is printed on your paper.");
    await hand.press("As printed");
    await judge("paper-piece");
    await hand.press("Print");
    await hand.press("Make the pages");
    await hand.sees(/^Checked: all [\d,]+ squares/, { in: ".came .done" });
    // What is said later goes into the piece.
    await hand.back();
    await hand.press("How its pages were read");
    await hand.press("Nothing is stitched there");
    await hand.sees("Symbol 3: left bare.");
    await hand.press("Put into the piece");
    await hand.sees("Half a lantern has what is new in that chart.");

    // What cannot be read says why, and what to do.
    await hand.goto(`${brede.place}#/`);
    await hand.drops(path.join(printed, "draw.py"), path.join(printed, "lantern-1.pdf"));
    await hand.sees("One file at a time, or all the PDFs of one chart.");
    await hand.drops(["no-chart.pdf", "How to work a French knot"]);
    await hand.sees("This is not a PDF, or it is damaged. Bring the PDF with the pages of the chart");
    await judge("paper-refused", { quick: true });
    // The same files are gone on with where they were left.
    await hand.drops(path.join(printed, "lantern-1.pdf"));
    await hand.sees("Put into the piece");
    // Pages that do not say how they join.
    await hand.drops(path.join(printed, "tens.pdf"));
    await hand.sees("How large is the whole chart?");
    await judge("paper-size");
    await hand.writes("Squares across", "55");
    await hand.writes("Squares down", "40");
    await hand.press("Join the pages");
    await hand.sees("55 × 40 squares on");
    assert.deepEqual(all(hand), []);
  });

  test(`${kind}: from a photo to the pages by keys alone`, { timeout: 3 * PATIENCE }, async (t) => {
    const { brede, hand } = await begun(t, kind, { filled: true });
    await hand.goto(brede.address);
    await hand.sees("Tide line", { in: ".piece" });
    await hand.keys("Begin from a photo", "Enter");
    await hand.sees("Choose a photo");
    await hand.reaches("Choose a photo");
    // The window in which a file is chosen is the system's.
    await hand.brings(".empty input[type=file]", path.join(samples, "rock-pool.jpg"));
    await hand.sees("Which part of the photo?");
    await hand.keys("Squares across", "type", "40");
    await hand.charted();
    await hand.keys("The photo", " ");
    await hand.reaches("Frame of the part that is stitched");
    for (let at = 0; at < 10; at += 1) await hand.key("-");
    await hand.key("ArrowLeft");
    await hand.charted();
    // The divider between photo and stitches, by keys too.
    await hand.keys("Stitched", " ");
    await hand.reaches("Where the photo ends and the stitched piece begins");
    const half = await hand.rested(".beside-picture");
    for (let at = 0; at < 20; at += 1) await hand.key("ArrowRight");
    assert.notEqual(await hand.rested(".beside-picture"), half);
    await hand.keys("Keep in the workbasket", "Enter");
    await hand.sees("Rock pool", { in: "h1" });
    await hand.reaches(/^Chart\. Arrow keys/);
    await hand.key("ArrowDown");
    await hand.key("End");
    await hand.sees(/^Row 1, column 40: /, { in: ".here" });
    await hand.keys("Print", "Enter");
    await hand.keys("Make the pages", "Enter");
    await hand.sees(/^Checked: all /, { in: ".came .done" });
    // Keys go on at the pages without being led there.
    assert.match(await hand.on((page) => page.evaluate(() => document.activeElement?.textContent ?? "")), /^Open .* pages? \(PDF/);
    // A printed chart, whose file is dropped for want of the system's window.
    await hand.drops(path.join(printed, "lantern-1.pdf"));
    await hand.sees("15 symbols are not clear yet");
    await hand.keys("Nothing is stitched there", "Enter");
    await hand.sees("Symbol 1: left bare.");
    await hand.keys("Thread", "type", "?");
    await hand.keys("A thread that is not listed", "Enter");
    await hand.keys("Code", "type", "K7");
    await hand.key("Enter");
    await hand.sees("Symbol 2: K7.");
    await hand.keys("Keep in the workbasket", "Enter");
    await hand.sees("Beside each symbol, the one that is printed on your paper.");
    assert.deepEqual(all(hand), []);
  });
}

test("chromium: by touch, on a telephone", { timeout: 3 * PATIENCE, skip: !wanted.includes("chromium") }, async (t) => {
  const { brede, hand } = await begun(t, "chromium", { filled: true, as: "telephone" });
  await hand.goto(brede.address);
  await hand.taps("Tide line");
  await hand.sees("Tide line", { in: "h1" });
  const box = await hand.box("canvas.chart");
  const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
  await hand.on((page) => page.touchscreen.tap(x, y));
  await hand.sees(/^Row \d+, column \d+: /, { in: ".here" });
  // Two fingers make it larger, one moves it.
  const before = await hand.picture("canvas.chart");
  await hand.pinch([x, y], 30, 120);
  const larger = await hand.picture("canvas.chart");
  assert.notEqual(before, larger);
  await hand.drag([x, y], [x - 80, y - 60]);
  const moved = await hand.picture("canvas.chart");
  assert.notEqual(larger, moved);
  await hand.draws([x, y], [x + 60, y + 40]);
  assert.notEqual(moved, await hand.picture("canvas.chart"));
  // The sheet of threads is closed by its own mark, by a key, and by a thread that is to be seen.
  const sheets = () => hand.on((page) => page.$$eval(".key", ([key]) => key.checkVisibility()));
  await hand.taps("Threads");
  assert.ok(await sheets());
  await hand.taps("Close");
  assert.ok(!(await sheets()), "the sheet of threads does not close");
  await hand.taps("Threads");
  await hand.key("Escape");
  assert.ok(!(await sheets()));
  await hand.taps("Threads");
  await hand.taps(".thread");
  await hand.sees(/stands out$/, { in: ".here" });
  assert.ok(!(await sheets()), "the thread that stands out is not seen");
  await hand.taps("Threads");
  await hand.taps("Show all threads");
  await hand.sees("All threads are shown", { in: ".here" });
  // The page that will be printed is seen whole over the foot, before its pages are made and after.
  await hand.taps("Print");
  await hand.sees(/of them chart with squares of/);
  const under = () => hand.on((page) => page.evaluate(() => {
    scrollTo(0, 0);
    return document.querySelector(".sheet").getBoundingClientRect().bottom - document.querySelector(".edge").getBoundingClientRect().top;
  }));
  assert.ok((await under()) <= 0, `the foot lies on ${await under()} pixels of the page`);
  await hand.taps("Make the pages");
  await hand.sees(/^Checked: all /, { in: ".came .done" });
  assert.ok((await under()) <= 0, `the foot lies on ${await under()} pixels of the page`);
  // Its threads are of the invented card: it is begun again from there. Two choices go on the whole screen, in line.
  await hand.taps("Begin again from its picture");
  await hand.charted();
  await hand.taps("Compare with another choice");
  await hand.taps("navy");
  await hand.charted();
  await hand.taps("Side by side");
  await hand.taps("Full screen");
  await hand.sees("Leave full screen");
  const boxes = await hand.on((page) => page.$$eval(".choices li", (all) => all.map((one) => ["canvas", "strong", ".row"].map((part) => one.querySelector(part).getBoundingClientRect()).map(({ left, top, right, bottom }) => [left, top, right, bottom]))));
  assert.equal(boxes.length, 2);
  for (const [left, top, right] of boxes.flat()) assert.ok(left >= 0 && right <= 390 && top >= 0 && top < 844, "a choice is outside");
  assert.ok(boxes[0][2][3] <= boxes[1][0][1], "choices lie on each other");
  if (process.env.SHOTS) await hand.on((page) => page.screenshot({ path: path.join(process.env.SHOTS, "telephone-choices.png") }));
  await hand.taps("Leave full screen");
  // A printed chart.
  await hand.drops(path.join(printed, "lantern-1.pdf"));
  await hand.sees("15 symbols are not clear yet");
  await hand.taps("Nothing is stitched there");
  await hand.sees("Symbol 1: left bare.");
  await hand.taps("Chart");
  await hand.taps("Show where it stands");
  await hand.sees(/^Symbol 2 stands in/, { in: ".figures" });
  await hand.taps("Keep in the workbasket");
  await hand.sees("Lantern 1", { in: "h1" });
  assert.deepEqual(all(hand), []);
});
