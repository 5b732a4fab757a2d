// The paths that a PDF draws, page by page, in millimetres: read from its content streams, with every change of scale on the
// way, so that what is measured is what a printer would be given.
import { inflateSync } from "node:zlib";

const MM_PER_POINT = 25.4 / 72;

/** Every object of the file by its number: its dictionary as text, and its stream if it has one. */
function objectsOf(pdf) {
  const text = pdf.toString("latin1");
  const objects = new Map();
  for (const found of text.matchAll(/(\d+) 0 obj\b/g)) {
    const start = found.index + found[0].length;
    const end = text.indexOf("endobj", start);
    const body = text.slice(start, end);
    const at = body.search(/stream\r?\n/);
    const dictionary = at < 0 ? body : body.slice(0, at);
    let stream;
    if (at >= 0) {
      const from = start + at + /stream\r?\n/.exec(body.slice(at))[0].length;
      const length = /\/Length (\d+)(?! \d+ R)/.exec(dictionary);
      const bytes = pdf.subarray(from, length === null ? text.indexOf("endstream", from) : from + Number(length[1]));
      stream = dictionary.includes("/FlateDecode") ? inflateSync(bytes).toString("latin1") : bytes.toString("latin1");
    }
    objects.set(Number(found[1]), { dictionary, stream });
  }
  return objects;
}

const times = ([a, b, c, d, e, f], [A, B, C, D, E, F]) => [a * A + b * C, a * B + b * D, c * A + d * C, c * B + d * D, e * A + f * C + E, e * B + f * D + F];

/** Pages with their size and their paths; each path a list of points from the top left corner of the page. */
export function pdfPaths(pdf) {
  const objects = objectsOf(pdf);
  const pages = [...objects.values()].filter(({ dictionary }) => /\/Type\s*\/Page\b(?!s)/.test(dictionary));
  return pages.map(({ dictionary }) => {
    const [, , width, height] = /\/MediaBox\s*\[([^\]]*)\]/.exec(dictionary)[1].trim().split(/\s+/).map(Number);
    const content = /\/Contents\s*(?:\[([^\]]*)\]|(\d+) 0 R)/.exec(dictionary);
    const ids = [...(content[1] ?? `${content[2]} 0 R`).matchAll(/(\d+) 0 R/g)].map(([, id]) => Number(id));
    const paths = [];
    for (const stream of ids.map((id) => objects.get(id).stream)) draw(stream, [1, 0, 0, 1, 0, 0], dictionary, objects, paths);
    const inMm = ([x, y]) => ({ x: x * MM_PER_POINT, y: (height - y) * MM_PER_POINT });
    return { width: width * MM_PER_POINT, height: height * MM_PER_POINT, paths: paths.map(({ points, painted }) => ({ painted, points: points.map(inMm) })) };
  });
}

function draw(stream, start, owner, objects, paths) {
  let matrix = start;
  const kept = [];
  let operands = [];
  let points = [];
  const put = (x, y) => points.push([x * matrix[0] + y * matrix[2] + matrix[4], x * matrix[1] + y * matrix[3] + matrix[5]]);
  const tokens = stream.replace(/\((?:\\.|[^\\()])*\)/g, "0").replace(/<[0-9A-Fa-f\s]*>/g, "0").split(/[\s[\]]+/);
  for (const token of tokens) {
    if (token === "") continue;
    if (/^[-+]?[\d.]+$/.test(token)) {
      operands.push(Number(token));
      continue;
    }
    if (token.startsWith("/")) {
      operands.push(token);
      continue;
    }
    const given = operands;
    operands = [];
    switch (token) {
      case "q":
        kept.push(matrix);
        break;
      case "Q":
        matrix = kept.pop() ?? start;
        break;
      case "cm":
        matrix = times(given, matrix);
        break;
      case "m":
      case "l":
        put(given[0], given[1]);
        break;
      case "c":
        put(given[4], given[5]);
        break;
      case "v":
      case "y":
        put(given[2], given[3]);
        break;
      case "re": {
        const [x, y, w, h] = given;
        for (const [dx, dy] of [[0, 0], [w, 0], [w, h], [0, h]]) put(x + dx, y + dy);
        break;
      }
      case "Do": {
        const id = new RegExp(`${given[0]}\\s+(\\d+) 0 R`).exec(owner)?.[1];
        const form = id === undefined ? undefined : objects.get(Number(id));
        if (form?.stream !== undefined && /\/Subtype\s*\/Form/.test(form.dictionary)) draw(form.stream, matrix, form.dictionary, objects, paths);
        break;
      }
      case "S":
      case "s":
      case "f":
      case "f*":
      case "B":
      case "B*":
      case "n":
        if (points.length > 0) paths.push({ painted: token !== "n", points });
        points = [];
        break;
      default:
    }
  }
}

/** Box of a path. */
export function boxOf({ points }) {
  const over = (pick, axis) => Math.round(pick(...points.map((point) => point[axis])) * 1e4) / 1e4;
  return { left: over(Math.min, "x"), right: over(Math.max, "x"), top: over(Math.min, "y"), bottom: over(Math.max, "y") };
}
