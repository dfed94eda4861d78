import type { Observable } from 'rxjs';

/**
 * Subscriptions whose failures are ours and must not get lost: what a listener throws, rxjs would report later from a real
 * timer, after the run has been called a pass.
 */
export class Listeners {
  #failure: { readonly cause: unknown } | undefined;

  on<T>(source: Observable<T>, take: (value: T) => void): void {
    source.subscribe({
      next: (value) => {
        try {
          take(value);
        } catch (cause) {
          this.#failed(cause);
        }
      },
      error: (cause) => this.#failed(cause),
    });
  }

  /** Throws the first failure of any listener. */
  check(): void {
    if (this.#failure !== undefined) throw this.#failure.cause;
  }

  #failed(cause: unknown): void {
    this.#failure ??= { cause };
  }
}
