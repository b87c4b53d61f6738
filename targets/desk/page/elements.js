// Elements of a page: whatever comes from a script is text, never markup.

export const byId = (id) => document.getElementById(id);

export function plain(name, properties = {}, ...children) {
  const made = Object.assign(document.createElement(name), properties);
  made.append(...children);
  return made;
}

// A drawing of the server's: parsed as XML, where nothing runs and nothing is forgiven.
export function drawing(text) {
  const parsed = new DOMParser().parseFromString(text, "image/svg+xml").documentElement;
  for (const part of parsed.querySelectorAll("script, foreignObject, a, image, use")) part.remove();
  return document.importNode(parsed, true);
}
