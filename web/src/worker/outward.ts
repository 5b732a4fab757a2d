// Which way a mesh grows when a line is drawn round it. Corners on an edge of a part are there once for each face, with
// that face's own normal; moved along those, the faces would part. Moved along their mean they stay together.

/**
 * Unit vectors, one for each corner: the mean of the normals of all corners at the same place. Places are the same when
 * their three numbers are, bit for bit, as the core shares them between faces.
 */
export function outwardOf(positions: Float32Array, normals: Float32Array): Float32Array {
  const count = positions.length / 3;
  const bits = new Uint32Array(positions.buffer, positions.byteOffset, positions.length);
  const outward = new Float32Array(positions.length);
  /** Open table of places: corner that was there first, plus one; 0 is empty. Half empty, so that searches stay short. */
  const size = 2 ** Math.ceil(Math.log2(Math.max(count, 1) * 2));
  const table = new Uint32Array(size);
  const firstAt = new Uint32Array(count);
  for (let corner = 0; corner < count; corner += 1) {
    const [x, y, z] = [bits[corner * 3] ?? 0, bits[corner * 3 + 1] ?? 0, bits[corner * 3 + 2] ?? 0];
    let slot = (Math.imul(x, 0x9e3779b1) ^ Math.imul(y, 0x85ebca6b) ^ Math.imul(z, 0xc2b2ae35)) >>> 0;
    slot = (slot ^ (slot >>> 15)) & (size - 1);
    for (;;) {
      const found = table[slot] ?? 0;
      if (found === 0) {
        table[slot] = corner + 1;
        firstAt[corner] = corner;
        break;
      }
      const first = found - 1;
      if (bits[first * 3] === x && bits[first * 3 + 1] === y && bits[first * 3 + 2] === z) {
        firstAt[corner] = first;
        break;
      }
      slot = (slot + 1) & (size - 1);
    }
    const first = (firstAt[corner] ?? 0) * 3;
    for (let axis = 0; axis < 3; axis += 1) outward[first + axis] = (outward[first + axis] ?? 0) + (normals[corner * 3 + axis] ?? 0);
  }
  for (let corner = 0; corner < count; corner += 1) {
    const first = (firstAt[corner] ?? 0) * 3;
    const here = corner * 3;
    if (first !== here) {
      // its first corner came before it and is a unit vector by now
      outward.copyWithin(here, first, first + 3);
      continue;
    }
    const [x, y, z] = [outward[here] ?? 0, outward[here + 1] ?? 0, outward[here + 2] ?? 0];
    const length = Math.hypot(x, y, z) || 1;
    outward.set([x / length, y / length, z / length], here);
  }
  return outward;
}
