// Files that the study names: held by the page, handed over with every question. From a drop, a choice or an archive.

const KINDS = /\.(toml|csv|txt|tsv|cff|cfg|dat)$/i;
export const RECORDED = /\.(csv|txt|tsv|cff|cfg|dat)$/i;
const MOST = 16;
const LARGEST = 24_000_000; // bytes of all together
const SMALL = 700_000; // letters of base64 that the browser's own storage is asked to keep

/** A file as it is handed over. The hash is left out where the browser makes none, as on a shared desk without encryption. */
export async function companion(file) {
  const content = await file.arrayBuffer();
  const bytes = new Uint8Array(content);
  let binary = "";
  for (let at = 0; at < bytes.length; at += 32768) binary += String.fromCharCode(...bytes.subarray(at, at + 32768));
  const digest = crypto.subtle ? new Uint8Array(await crypto.subtle.digest("SHA-256", content)) : null;
  return { name: file.name, size: file.size, base64: btoa(binary), sha256: digest && Array.from(digest, (byte) => byte.toString(16).padStart(2, "0")).join("") };
}

/** Why these files cannot be held together; "" when they can. */
export function unfit(files) {
  const odd = files.find(({ name }) => !KINDS.test(name));
  if (odd) return `${odd.name}: this kind of file is not known.`;
  if (files.length > MOST) return `${files.length} files; at most ${MOST} can be held beside a study.`;
  return files.reduce((sum, { size }) => sum + size, 0) > LARGEST ? "The files are larger than 24 MB together." : "";
}

/** Those that the browser may keep; none when they are too large. */
export function keepable(files) {
  return files.reduce((sum, { base64 }) => sum + base64.length, 0) < SMALL ? files : [];
}

/** Whether one of the files is what a study calls by this plain name, or the data beside it. */
export function meant(name, wanted) {
  const stem = (one) => one.replace(/\.[^.]*$/, "");
  return wanted.includes(name) || (/\.dat$/i.test(name) && wanted.some((one) => /\.cfg$/i.test(one) && stem(one) === stem(name)));
}

/** The files in an archive, as the desk writes it. An Error when it is none, or too large. */
export async function unpackedFiles(archive) {
  if (archive.size > LARGEST) throw new Error("too large");
  const content = await archive.arrayBuffer();
  const view = new DataView(content);
  let end = view.byteLength - 22;
  while (end > 0 && view.getUint32(end, true) !== 0x06054b50) end -= 1;
  const found = [];
  let left = LARGEST;
  for (let at = view.getUint32(end + 16, true), k = view.getUint16(end + 10, true); k > 0; k -= 1) {
    if (view.getUint32(at, true) !== 0x02014b50) throw new Error("no archive");
    const [method, size, whole] = [view.getUint16(at + 10, true), view.getUint32(at + 20, true), view.getUint32(at + 24, true)];
    const [named, more, said] = [28, 30, 32].map((place) => view.getUint16(at + place, true));
    const local = view.getUint32(at + 42, true);
    const name = new TextDecoder().decode(new Uint8Array(content, at + 46, named));
    const from = local + 30 + view.getUint16(local + 26, true) + view.getUint16(local + 28, true);
    left -= whole;
    if (left < 0 || found.length > MOST) throw new Error("too large");
    const stored = new Blob([content.slice(from, from + size)]);
    const plain = method === 0 ? stored : new Response(stored.stream().pipeThrough(new DecompressionStream("deflate-raw")));
    const bytes = await plain.arrayBuffer();
    if (bytes.byteLength !== whole) throw new Error("damaged");
    if (!name.endsWith("/")) found.push(new File([bytes], name.replace(/^.*[/\\]/, "")));
    at += 46 + named + more + said;
  }
  return found;
}
