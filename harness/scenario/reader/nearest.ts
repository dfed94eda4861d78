/** Longest word for which a neighbour is looked for: a rubbish key of a megabyte must not cost a minute. */
const LENGTH_MAX = 40;

/** Edit distance with neighbouring letters swapped counted as one (optimal string alignment). */
export function editDistance(a: string, b: string): number {
  let before: number[] = [];
  let row = Array.from({ length: b.length + 1 }, (_, index) => index);
  for (let i = 1; i <= a.length; i += 1) {
    const next = [i];
    for (let j = 1; j <= b.length; j += 1) {
      const swap = i > 1 && j > 1 && a[i - 1] === b[j - 2] && a[i - 2] === b[j - 1];
      const change = row[j - 1]! + (a[i - 1] === b[j - 1] ? 0 : 1);
      const best = Math.min(change, row[j]! + 1, next[j - 1]! + 1);
      next.push(swap ? Math.min(best, before[j - 2]! + 1) : best);
    }
    before = row;
    row = next;
  }
  return row[b.length]!;
}

/** The known word that was most likely meant, or nothing where none is near. Case, hyphens and underscores are overlooked. */
export function nearest(word: string, known: readonly string[]): string | undefined {
  if (word.length > LENGTH_MAX) return undefined;
  const plain = (text: string) => text.toLowerCase().replace(/[-_ ]/g, '');
  let best: string | undefined;
  let least = Math.max(1, Math.floor(word.length / 3)) + 0.5;
  for (const candidate of known) {
    if (candidate.length > LENGTH_MAX) continue;
    const distance = editDistance(plain(word), plain(candidate));
    if (distance < least) {
      best = candidate;
      least = distance;
    }
  }
  return best;
}

/** `Did you mean "rating"?`, or nothing. */
export function didYouMean(word: string, known: readonly string[]): string {
  const best = nearest(word, known);
  return best === undefined ? '' : `Did you mean "${best}"?`;
}

/** "a", "a or b", "a, b or c". */
export function oneOf(words: readonly string[]): string {
  if (words.length < 2) return words[0] ?? 'nothing';
  return `${words.slice(0, -1).join(', ')} or ${words.at(-1)}`;
}
