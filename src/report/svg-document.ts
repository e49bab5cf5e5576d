/** Namespaces as W3C names them: xmlns of HTML and SVG. */
const HTML = 'http://www.w3.org/1999/xhtml'
const SVG = 'http://www.w3.org/2000/svg'

type Child = SvgElement | SvgText

/** Words between elements. */
class SvgText {
  parentNode: SvgElement | null = null
  constructor(
    readonly ownerDocument: SvgDocument,
    readonly data: string,
  ) {}
  get textContent(): string {
    return this.data
  }
  get outerHTML(): string {
    return escaped(this.data)
  }
}

/** One element; only what the charting library asks of a browser's. */
export class SvgElement {
  parentNode: SvgElement | null = null
  readonly style = new InlineStyle()
  private readonly attributes = new Map<string, string>()
  private children: Child[] = []

  constructor(
    readonly ownerDocument: SvgDocument,
    readonly namespaceURI: string,
    readonly tagName: string,
  ) {}

  get childNodes(): readonly Child[] {
    return this.children
  }
  get firstChild(): Child | null {
    return this.children[0] ?? null
  }
  get nextSibling(): Child | null {
    const beside = this.parentNode?.children ?? []
    return beside[beside.indexOf(this) + 1] ?? null
  }
  /** The nearest `svg` around it, as in a browser. */
  get ownerSVGElement(): SvgElement | null {
    const { parentNode } = this
    return parentNode === null || parentNode.tagName === 'svg' ? parentNode : parentNode.ownerSVGElement
  }
  get textContent(): string {
    return this.children.map(child => child.textContent).join('')
  }
  set textContent(text: string | null) {
    for (const child of this.children) child.parentNode = null
    this.children = []
    if (text !== null && text !== '') this.appendChild(this.ownerDocument.createTextNode(String(text)))
  }

  getAttribute(name: string): string | null {
    return this.attributes.get(name) ?? null
  }
  hasAttribute(name: string): boolean {
    return this.attributes.has(name)
  }
  setAttribute(name: string, value: unknown): void {
    this.attributes.set(name, String(value))
  }
  setAttributeNS(_namespace: string | null, name: string, value: unknown): void {
    this.setAttribute(name, value)
  }
  removeAttribute(name: string): void {
    this.attributes.delete(name)
  }
  removeAttributeNS(_namespace: string | null, name: string): void {
    this.attributes.delete(name)
  }

  append(...nodes: (Child | string)[]): void {
    for (const node of nodes)
      this.appendChild(typeof node === 'string' ? this.ownerDocument.createTextNode(node) : node)
  }
  appendChild<Node extends Child>(node: Node): Node {
    return this.insertBefore(node, null)
  }
  insertBefore<Node extends Child>(node: Node, before: Child | null): Node {
    node.parentNode?.removeChild(node)
    this.children.splice(before === null ? this.children.length : this.children.indexOf(before), 0, node)
    node.parentNode = this
    return node
  }
  removeChild<Node extends Child>(node: Node): Node {
    this.children = this.children.filter(child => child !== node)
    node.parentNode = null
    return node
  }
  remove(): void {
    this.parentNode?.removeChild(this)
  }

  /** Every element within of one name; the library asks for nothing harder. */
  querySelectorAll(tagName: string): readonly SvgElement[] {
    if (!/^[a-z]+$/i.test(tagName)) throw new RangeError(`only names of elements are looked for; got "${tagName}"`)
    return this.children.flatMap(child =>
      child instanceof SvgElement
        ? [...(child.tagName === tagName ? [child] : []), ...child.querySelectorAll(tagName)]
        : [],
    )
  }

  /** As markup that stands in an HTML page: text and attributes escaped. */
  get outerHTML(): string {
    const style = this.style.toString()
    const attributes = [...this.attributes, ...(style === '' ? [] : [['style', style] as const])]
      .map(([name, value]) => ` ${name}="${escaped(value).replaceAll('"', '&quot;')}"`)
      .join('')
    return this.children.length === 0
      ? `<${this.tagName}${attributes}/>`
      : `<${this.tagName}${attributes}>${this.children.map(child => child.outerHTML).join('')}</${this.tagName}>`
  }
}

/** Declarations set one by one or assigned by their names in JavaScript, as `fontSize`. */
class InlineStyle {
  [name: string]: unknown
  setProperty(name: string, value: string): void {
    this[name] = value
  }
  removeProperty(name: string): void {
    delete this[name]
  }
  toString(): string {
    return Object.entries(this)
      .map(([name, value]) => `${name.replace(/[A-Z]/g, letter => `-${letter.toLowerCase()}`)}:${String(value)}`)
      .join(';')
  }
}

/**
 * A document that charts are drawn into without a browser: elements, attributes, text, and their markup. A whole HTML
 * document read from text would be several times as much code to load as all charts.
 */
export class SvgDocument {
  readonly documentElement = new SvgElement(this, HTML, 'html')
  createElement(name: string): SvgElement {
    return new SvgElement(this, HTML, name)
  }
  createElementNS(namespace: string, name: string): SvgElement {
    return new SvgElement(this, namespace === '' ? SVG : namespace, name)
  }
  createTextNode(text: string): SvgText {
    return new SvgText(this, text)
  }
}

function escaped(text: string): string {
  return text.replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('>', '&gt;')
}
