/**
 * Solves Y V = J for a complex symmetric Y by Y = L D Lᵀ without pivoting.
 *
 * Stable here because the hermitian part of every Y that the network makes is positive definite (each leg node leaks to
 * its neutral, each neutral to earth). Row-major, lower triangle; nothing is allocated after construction.
 */
export class ComplexLdl {
  readonly size: number;
  /** Lower triangle of Y, then L with D on its diagonal. */
  readonly #re: Float64Array;
  readonly #im: Float64Array;
  readonly #wRe: Float64Array;
  readonly #wIm: Float64Array;

  constructor(size: number) {
    this.size = size;
    this.#re = new Float64Array(size * size);
    this.#im = new Float64Array(size * size);
    this.#wRe = new Float64Array(size);
    this.#wIm = new Float64Array(size);
  }

  /** Takes the lower triangle of Y (row-major, size × size, S) and factorises a copy. False when a pivot vanishes. */
  factor(yRe: Float64Array, yIm: Float64Array): boolean {
    const n = this.size;
    const re = this.#re;
    const im = this.#im;
    const wRe = this.#wRe;
    const wIm = this.#wIm;
    re.set(yRe);
    im.set(yIm);
    for (let j = 0; j < n; j += 1) {
      const rowJ = j * n;
      let dRe = re[rowJ + j]!;
      let dIm = im[rowJ + j]!;
      for (let k = 0; k < j; k += 1) {
        const lRe = re[rowJ + k]!;
        const lIm = im[rowJ + k]!;
        const diagonal = k * n + k;
        const pRe = lRe * re[diagonal]! - lIm * im[diagonal]!;
        const pIm = lRe * im[diagonal]! + lIm * re[diagonal]!;
        wRe[k] = pRe;
        wIm[k] = pIm;
        dRe -= lRe * pRe - lIm * pIm;
        dIm -= lRe * pIm + lIm * pRe;
      }
      const size2 = dRe * dRe + dIm * dIm;
      if (!(size2 > 0) || size2 === Infinity) return false;
      re[rowJ + j] = dRe;
      im[rowJ + j] = dIm;
      const invRe = dRe / size2;
      const invIm = -dIm / size2;
      for (let i = j + 1; i < n; i += 1) {
        const rowI = i * n;
        let aRe = re[rowI + j]!;
        let aIm = im[rowI + j]!;
        for (let k = 0; k < j; k += 1) {
          const lRe = re[rowI + k]!;
          const lIm = im[rowI + k]!;
          aRe -= lRe * wRe[k]! - lIm * wIm[k]!;
          aIm -= lRe * wIm[k]! + lIm * wRe[k]!;
        }
        re[rowI + j] = aRe * invRe - aIm * invIm;
        im[rowI + j] = aRe * invIm + aIm * invRe;
      }
    }
    return true;
  }

  /** Overwrites the right side (A) with the solution (V). */
  solve(xRe: Float64Array, xIm: Float64Array): void {
    const n = this.size;
    const re = this.#re;
    const im = this.#im;
    for (let i = 0; i < n; i += 1) {
      const row = i * n;
      let sRe = xRe[i]!;
      let sIm = xIm[i]!;
      for (let k = 0; k < i; k += 1) {
        sRe -= re[row + k]! * xRe[k]! - im[row + k]! * xIm[k]!;
        sIm -= re[row + k]! * xIm[k]! + im[row + k]! * xRe[k]!;
      }
      xRe[i] = sRe;
      xIm[i] = sIm;
    }
    for (let i = 0; i < n; i += 1) {
      const dRe = re[i * n + i]!;
      const dIm = im[i * n + i]!;
      const size2 = dRe * dRe + dIm * dIm;
      const sRe = xRe[i]!;
      const sIm = xIm[i]!;
      xRe[i] = (sRe * dRe + sIm * dIm) / size2;
      xIm[i] = (sIm * dRe - sRe * dIm) / size2;
    }
    for (let i = n - 1; i >= 0; i -= 1) {
      let sRe = xRe[i]!;
      let sIm = xIm[i]!;
      for (let k = i + 1; k < n; k += 1) {
        const at = k * n + i;
        sRe -= re[at]! * xRe[k]! - im[at]! * xIm[k]!;
        sIm -= re[at]! * xIm[k]! + im[at]! * xRe[k]!;
      }
      xRe[i] = sRe;
      xIm[i] = sIm;
    }
  }
}
