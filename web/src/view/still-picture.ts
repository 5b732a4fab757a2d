// What stands still while a part is held, kept as it was drawn: a machine without a graphics card then draws only what moves.

/** What the kept picture was drawn with: it is good as long as all of it is the same. */
export type Drawn = readonly unknown[];

export class StillPicture {
  readonly #kept: WebGLFramebuffer;
  readonly #colour: WebGLRenderbuffer;
  readonly #depth: WebGLRenderbuffer;
  #drawn: Drawn | undefined;
  #width = 0;
  #height = 0;
  /** The browser copies depths between the canvas and a picture of the page's own. */
  #copies: boolean | undefined;

  /** `gl` draws without smoothing edges: smoothed ones cannot be copied back. */
  constructor(private readonly gl: WebGL2RenderingContext) {
    this.#kept = gl.createFramebuffer();
    this.#colour = gl.createRenderbuffer();
    this.#depth = gl.createRenderbuffer();
  }

  /** Whether pictures can be kept, as far as is known. */
  get works(): boolean {
    return this.#copies !== false;
  }

  /** Lays the kept picture on the canvas if it is good still. */
  lay(drawn: Drawn): boolean {
    const { drawingBufferWidth: width, drawingBufferHeight: height } = this.gl;
    if (!this.works || width !== this.#width || height !== this.#height || this.#drawn?.length !== drawn.length || !drawn.every((part, at) => part === this.#drawn?.[at])) return false;
    // a canvas that was shown is emptied by the first that is drawn on it, and copying does not count as that
    this.gl.clear(this.gl.COLOR_BUFFER_BIT);
    this.#copy(this.#kept, null);
    return true;
  }

  /** Keeps what is on the canvas. */
  keep(drawn: Drawn): void {
    const { gl } = this;
    const { drawingBufferWidth: width, drawingBufferHeight: height } = gl;
    if (width !== this.#width || height !== this.#height) {
      this.#width = width;
      this.#height = height;
      for (const [buffer, format] of [
        [this.#colour, gl.RGBA8],
        [this.#depth, gl.DEPTH24_STENCIL8],
      ] as const) {
        gl.bindRenderbuffer(gl.RENDERBUFFER, buffer);
        gl.renderbufferStorage(gl.RENDERBUFFER, format, width, height);
      }
      gl.bindRenderbuffer(gl.RENDERBUFFER, null);
      gl.bindFramebuffer(gl.FRAMEBUFFER, this.#kept);
      gl.framebufferRenderbuffer(gl.FRAMEBUFFER, gl.COLOR_ATTACHMENT0, gl.RENDERBUFFER, this.#colour);
      gl.framebufferRenderbuffer(gl.FRAMEBUFFER, gl.DEPTH_STENCIL_ATTACHMENT, gl.RENDERBUFFER, this.#depth);
      gl.bindFramebuffer(gl.FRAMEBUFFER, null);
    }
    this.#copy(null, this.#kept);
    this.#drawn = drawn;
    // formats of depth that differ are an error, and what they are only the browser knows
    this.#copies ??= gl.getError() === gl.NO_ERROR;
  }

  #copy(from: WebGLFramebuffer | null, to: WebGLFramebuffer | null): void {
    const { gl } = this;
    gl.bindFramebuffer(gl.READ_FRAMEBUFFER, from);
    gl.bindFramebuffer(gl.DRAW_FRAMEBUFFER, to);
    gl.blitFramebuffer(0, 0, this.#width, this.#height, 0, 0, this.#width, this.#height, gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT, gl.NEAREST);
    gl.bindFramebuffer(gl.FRAMEBUFFER, null);
  }
}
