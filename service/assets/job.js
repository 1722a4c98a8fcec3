// Follows a job of the service to its end: by its events, or by asking now and then where no stream is to be had.
// Knows the job's addresses and states; does not know what the job is for.

const PAUSE = 500;

export const isOver = (job) => ["done", "failed", "cancelled"].includes(job.state);

// Calls `told` with the job whenever it has changed; gives back the job as it ended. Throws when the job is lost.
export async function follow(call, job, told) {
  let last = job;
  const hear = (found) => { last = found; told(found); };
  told(job);
  try {
    await stream(call, job.links.events, hear);
  } catch (failure) {
    if (!(failure instanceof TypeError)) throw failure; // the stream broke off, as fetch tells it: ask instead
  }
  while (!isOver(last)) {
    await new Promise((done) => setTimeout(done, PAUSE));
    const reply = await call(job.links.self);
    const answer = await reply.json();
    if (!reply.ok) throw new Error(answer.detail);
    hear(answer);
  }
  return last;
}

async function stream(call, path, hear) {
  const reply = await call(path, { headers: { Accept: "text/event-stream" } });
  if (!reply.ok) return;
  const reader = reply.body.pipeThrough(new TextDecoderStream()).getReader();
  let rest = "";
  for (;;) {
    const { value, done } = await reader.read();
    if (done) return;
    const events = (rest + value).split("\n\n");
    rest = events.pop();
    for (const line of events.flatMap((event) => event.split("\n"))) {
      if (line.startsWith("data: ")) hear(JSON.parse(line.slice(6)));
    }
  }
}
