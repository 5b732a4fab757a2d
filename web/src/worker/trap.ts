/** A trap leaves the module's memory in an unknown state: nothing may be asked of it again. */
export function isTrap(error: unknown): boolean {
  return error instanceof WebAssembly.RuntimeError || error instanceof RangeError;
}
