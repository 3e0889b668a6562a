//! The desk as a whole, without a browser: texts edited, requests over a real socket.

mod forms;
mod runs;
mod server;
mod shipped;
mod support;
