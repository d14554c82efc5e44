// A worker's timer goes on at its own pace where the page's timers are slowed down to one a second, or one a minute.
setInterval(() => postMessage(0), 250);
