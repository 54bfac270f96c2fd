// A picture as a file of its own: what the style sheets say is written into the drawing, so that it stands alone.

const carried = [
  "fill",
  "fill-opacity",
  "stroke",
  "stroke-width",
  "stroke-dasharray",
  "stroke-linecap",
  "stroke-linejoin",
  "opacity",
  "font-size",
  "font-weight",
  "text-anchor",
  "dominant-baseline",
] as const;

/** standaloneSvg copies the drawing with its finding as title, its colours, and the ground it stands on. */
export function standaloneSvg(
  drawing: SVGSVGElement,
  finding: string,
): { source: string; width: number; height: number } {
  const { width, height } = drawing.getBoundingClientRect();
  const page = getComputedStyle(document.body);
  const copy = drawing.cloneNode(true) as SVGSVGElement;
  const from = [drawing, ...drawing.querySelectorAll("*")];
  const to = [copy, ...copy.querySelectorAll("*")];
  from.forEach((element, at) => {
    const style = getComputedStyle(element);
    const target = to[at] as Element;
    for (const name of carried) {
      const value = style.getPropertyValue(name);
      if (value) target.setAttribute(name, value);
    }
    target.removeAttribute("class");
    target.removeAttribute("style");
  });

  const head = 44; // room for the finding above the drawing
  copy.setAttribute("xmlns", "http://www.w3.org/2000/svg");
  copy.setAttribute("viewBox", `0 ${-head} ${width} ${height + head}`);
  copy.setAttribute("width", String(width));
  copy.setAttribute("height", String(height + head));
  copy.setAttribute("font-family", page.fontFamily);
  const ground = svgElement("rect", {
    x: "0",
    y: String(-head),
    width: String(width),
    height: String(height + head),
  });
  ground.setAttribute("fill", page.backgroundColor);
  const title = svgElement("text", { x: "0", y: "-18", "font-size": "17", "font-weight": "650" });
  title.setAttribute("fill", page.color);
  title.textContent = finding;
  copy.prepend(ground, title);
  return { source: new XMLSerializer().serializeToString(copy), width, height: height + head };
}

function svgElement(name: string, attributes: Record<string, string>): SVGElement {
  const element = document.createElementNS("http://www.w3.org/2000/svg", name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  return element;
}

const pngScale = 2;

/** pngOf draws the SVG at twice its size. */
export async function pngOf(source: string, width: number, height: number): Promise<Blob> {
  const url = URL.createObjectURL(new Blob([source], { type: "image/svg+xml" }));
  try {
    const image = new Image();
    image.src = url;
    await image.decode();
    const canvas = document.createElement("canvas");
    canvas.width = Math.ceil(width * pngScale);
    canvas.height = Math.ceil(height * pngScale);
    canvas.getContext("2d")?.drawImage(image, 0, 0, canvas.width, canvas.height);
    return await new Promise((done, failed) =>
      canvas.toBlob(
        (blob) => (blob ? done(blob) : failed(new Error("the picture could not be drawn"))),
        "image/png",
      ),
    );
  } finally {
    URL.revokeObjectURL(url);
  }
}

/** saveFile hands a file to the browser's own saving. */
export function saveFile(name: string, content: Blob): void {
  const url = URL.createObjectURL(content);
  const link = document.createElement("a");
  link.href = url;
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(url), 10_000); // some browsers read the address after the click returns
}
