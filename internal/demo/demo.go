// Package demo holds an invented engine: its book and the readings of its
// overhaul. Maker, owner, people and every figure are made up; nothing of it
// may be used on a real engine.
package demo

import _ "embed"

// Book is the invented engine's book.
//
//go:embed book.yaml
var Book []byte

// Readings are the readings of its overhaul so far.
//
//go:embed readings.csv
var Readings []byte
