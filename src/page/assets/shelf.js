// Tiles as they come from the worker that draws them, kept while there is room.

/** A tile takes a megabyte: what a large screen shows four times over. */
const MOST = 96;

/** So many tiles are asked for at once: what is not wanted any more when they come is soon done with. */
const AT_ONCE = 3;

export class Shelf {
  /** @param {import("./chart.js").Chart} chart @param {() => void} came is told when something new is there */
  constructor(chart, came) {
    const { columns, rows } = chart.look.size;
    this.columns = columns;
    this.rows = rows;
    /** @type {import("./tiles.js").Show} */
    this.show = "both";
    /** @type {number | null} the needle that stands out */
    this.front = null;
    /** @type {Map<string, ImageBitmap>} */
    this.tiles = new Map();
    /** @type {Set<string>} what was asked for and has not come */
    this.asked = new Set();
    /** @type {{ key: string, picture: ImageBitmap } | null} */
    this.farPicture = null;
    this.drawer = new Worker("/assets/drawer.js", { type: "module" });
    // It is given squares of its own, which costs less than to have them written down for it.
    const cells = chart.cells.slice();
    this.drawer.postMessage({ chart: { look: chart.look, cells } }, [cells.buffer]);
    this.drawer.onmessage = ({ data: { key, picture } }) => {
      this.asked.delete(key);
      if (key.startsWith("far")) {
        this.farPicture?.picture.close();
        this.farPicture = { key, picture };
      } else this.tiles.set(key, picture);
      came();
    };
  }

  leave() {
    this.drawer.terminate();
    this.tiles.forEach((tile) => tile.close());
    this.farPicture?.picture.close();
  }

  /** @param {string} key @param {object} what */
  ask(key, what = {}) {
    if (this.asked.has(key)) return;
    this.asked.add(key);
    this.drawer.postMessage({ key, show: this.show, front: this.front, ...what });
  }

  /** A pixel a square: the last there is, until that of another look has come. */
  far() {
    const key = `far ${this.show} ${this.front}`;
    if (this.farPicture?.key !== key) this.ask(key);
    return this.farPicture?.picture ?? null;
  }

  /** A tile that is there already. @param {number} side @param {number} x @param {number} y */
  kept(side, x, y) {
    const key = `${this.show} ${this.front} ${side} ${x} ${y}`;
    const tile = this.tiles.get(key);
    if (tile) {
      this.tiles.delete(key);
      this.tiles.set(key, tile);
    }
    return tile;
  }

  /** Asks for tiles that are wanting, the first first, and makes room for them. @param {number} side @param {[number, number][]} wanting @param {number} seen how many are seen at once */
  want(side, wanting, seen) {
    for (const [x, y] of wanting.slice(0, Math.max(0, AT_ONCE - this.asked.size))) this.ask(`${this.show} ${this.front} ${side} ${x} ${y}`, { side, x, y });
    for (const [key, tile] of this.tiles) {
      if (this.tiles.size <= Math.max(MOST, 2 * seen)) break;
      tile.close();
      this.tiles.delete(key);
    }
  }
}
