//! One module for each behaviour.

mod broken;
mod broken_trades;
mod command;
mod compare;
mod damaged_trades;
mod fit_tasks;
mod hardware;
mod laboratory;
mod luck;
mod outside;
mod rare;
mod reference;
mod shipped;
mod size;
mod stress;
mod trade;
mod two_sorties;
mod upsets;
mod watch;
mod wrong_files;
