/**
 * Whether a dotted version is at least another: numbers compare as numbers, so 4.10 is above 4.2.
 *
 * A version with anything but digits and dots (a pre-release, an empty or unreadable one) never is: it cannot be trusted.
 */
export function isVersionAtLeast(version: string, minimum: string): boolean {
  const pattern = /^\d+(\.\d+)*$/;
  if (!pattern.test(version) || !pattern.test(minimum)) return false;
  const have = version.split('.').map(Number);
  const want = minimum.split('.').map(Number);
  for (let i = 0; i < Math.max(have.length, want.length); i += 1) {
    const gap = (have[i] ?? 0) - (want[i] ?? 0);
    if (gap !== 0) return gap > 0;
  }
  return true;
}
