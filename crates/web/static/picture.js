// The picture of a session, to send or to keep: what is told of it, and the face as it stands on the page.
const WIDE = 1080;
const EDGE = 54;
const LOOKS = ["display", "fill", "stroke", "stroke-width", "stroke-dasharray", "opacity", "vector-effect", "font-size", "font-weight"];

// A picture of its own knows no style sheet: every shape is told how it looks here.
async function drawn(face, side) {
  const copy = face.cloneNode(true);
  const larger = side / face.getBoundingClientRect().width;
  const own = [face, ...face.querySelectorAll("*")];
  [copy, ...copy.querySelectorAll("*")].forEach((shape, i) => {
    const looks = getComputedStyle(own[i]);
    shape.setAttribute("style", LOOKS.map((look) => `${look}:${looks.getPropertyValue(look)}`).join(";"));
    if (looks.vectorEffect === "non-scaling-stroke") shape.style.strokeWidth = `${parseFloat(looks.strokeWidth) * larger}px`;
  });
  copy.setAttribute("xmlns", "http://www.w3.org/2000/svg");
  copy.setAttribute("width", side);
  copy.setAttribute("height", side);
  const image = new Image();
  image.src = "data:image/svg+xml," + encodeURIComponent(new XMLSerializer().serializeToString(copy));
  await image.decode();
  return image;
}

// `line` in parts that are no wider than the picture.
function broken(pen, line) {
  const parts = [""];
  for (const word of line.split(" ")) {
    const longer = `${parts.at(-1)} ${word}`.trim();
    if (pen.measureText(longer).width > WIDE - 2 * EDGE && parts.at(-1)) parts.push(word);
    else parts[parts.length - 1] = longer;
  }
  return parts;
}

// A file with the picture: the first of `lines` large, the face (where there is one), the others.
export async function picture(lines, name) {
  const face = document.querySelector(".card-sheet svg.face, .board svg.face");
  const side = face ? WIDE - 2 * EDGE : 0;
  const image = face && (await drawn(face, side));
  const canvas = document.createElement("canvas");
  const pen = canvas.getContext("2d");
  const font = (i) => `${i ? 400 : 700} ${i ? 34 : 44}px system-ui, sans-serif`;
  const text = lines.map((line, i) => ((pen.font = font(i)), broken(pen, line)));
  canvas.width = WIDE;
  canvas.height = 2 * EDGE + side + text.flat().length * 50 + 40;
  pen.fillStyle = "#ffffff";
  pen.fillRect(0, 0, canvas.width, canvas.height);
  let y = EDGE;
  text.forEach((parts, i) => {
    pen.font = font(i);
    pen.fillStyle = "#14181a";
    for (const part of parts) pen.fillText(part, EDGE, (y += 50));
    if (i === 0 && image) {
      pen.drawImage(image, EDGE, y + 30, side, side);
      y += side + 40;
    }
  });
  const blob = await new Promise((done) => canvas.toBlob(done, "image/png"));
  return new File([blob], name, { type: "image/png" });
}
