// Arrays from the bench: a head of JSON that names them, then the numbers as they lie in memory.

const TYPES = { Float64Array, Float32Array, Int32Array, Uint32Array, Int16Array, Uint16Array, Uint8Array, Int8Array };

/** Fetch arrays; gives {head, arrays: name -> typed array}. */
export async function fetchArrays(path, signal) {
  const answer = await fetch(path, { signal });
  if (!answer.ok) throw new Error(`the bench did not give ${path}: ${answer.status}`);
  return unpack(await answer.arrayBuffer());
}

export function unpack(buffer) {
  const length = new DataView(buffer).getUint32(0, true);
  const head = JSON.parse(new TextDecoder().decode(new Uint8Array(buffer, 4, length)));
  const arrays = {};
  for (const { name, type, count, at } of head.arrays) arrays[name] = new TYPES[type](buffer, at, count);
  return { head, arrays };
}

/** Number of the first value of a rising array that is not below `value`. */
export function firstNotBelow(array, value) {
  let low = 0;
  let high = array.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (array[middle] < value) low = middle + 1;
    else high = middle;
  }
  return low;
}
