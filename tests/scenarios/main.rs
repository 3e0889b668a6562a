//! One module for each behaviour.

mod broken;
mod command;
mod compare;
mod hardware;
mod luck;
mod outside;
mod rare;
mod reference;
mod shipped;
mod stress;
mod two_sorties;
mod upsets;
