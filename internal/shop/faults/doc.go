// Package faults breaks a shop on purpose: it is killed while it records, its
// power is cut, its disk is full. It has nothing but tests, which want
// processes of their own.
//
// What was acknowledged must be there afterwards, in order, once.
package faults
