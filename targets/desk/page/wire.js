// The socket to the desk's own server: messages that were sent while it was away are not kept, the text is.

export async function opened(say, well) {
  const address = new URL("socket", location.href);
  address.protocol = "ws:";
  const heard = new Set();
  let socket = null;
  let anew = null;

  const connect = () =>
    new Promise((resolve, reject) => {
      const made = new WebSocket(address);
      made.onopen = () => resolve(made);
      made.onerror = () => reject(new Error("no answer"));
      made.onmessage = async (event) => {
        const text = typeof event.data === "string" ? event.data : await event.data.text();
        for (const hears of heard) hears(text);
      };
      made.onclose = lost;
    });

  async function lost() {
    if (!socket) return;
    socket = null;
    say("The desk has stopped. The text is still here: start the desk again, or save a copy.");
    while (!socket) {
      await new Promise((resolve) => setTimeout(resolve, 1000));
      try {
        socket = await connect();
      } catch {
        continue;
      }
      if (anew) await anew();
      well();
    }
  }

  socket = await connect();
  window.addEventListener("beforeunload", (event) => {
    if (!socket) event.preventDefault(); // only then could the text be lost
  });
  return {
    send: (message) => socket?.send(message), // what is not sent is in the text, which is sent anew
    subscribe: (hears) => heard.add(hears),
    unsubscribe: (hears) => heard.delete(hears),
    again: (run) => (anew = run),
  };
}
