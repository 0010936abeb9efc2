// Edits: pure functions from a show to a new one that shares every channel it did not touch. They keep the promises of
// show.hpp (keys in strictly rising time, at most one channel for a control) whatever they are given.
#pragma once
#include <span>
#include <string>
#include <vector>

#include "show/show.hpp"

namespace mien::show {

/// Names a keyframe: no two keys of a channel share a time.
struct KeyRef {
  std::string control;
  Time time{0};
  friend bool operator==(const KeyRef&, const KeyRef&) = default;
  friend auto operator<=>(const KeyRef&, const KeyRef&) = default;  // NOLINT(modernize-use-nullptr): of what the compiler makes of it
};

/// Sets a key, replacing one that stands at the same time; makes the channel where the control has none. A value that is not
/// finite, here and below, changes nothing.
Show with_key(const Show& show, const std::string& control, const Keyframe& key);
/// Keys that are not there are passed over. A channel that loses its last key stays, empty.
Show without_keys(const Show& show, std::span<const KeyRef> keys);
/// Moves the named keys by dt and their values by dv. Keys keep to [0, show.length]: the whole group moves less where one would leave it.
/// A key that is not named and is landed on is replaced. moved, where given, receives the keys' new names in the order of `keys`.
Show with_keys_moved(const Show& show, std::span<const KeyRef> keys, Time dt, double dv, std::vector<KeyRef>* moved = nullptr);
Show with_values(const Show& show, std::span<const KeyRef> keys, double value);
Show with_easing(const Show& show, std::span<const KeyRef> keys, const Easing& easing);

/// Keyframes on their own, as copied: times are relative to the earliest.
struct KeyBundle {
  struct Strand { std::string control; std::vector<Keyframe> keys; };
  std::vector<Strand> strands;
};
KeyBundle copy_keys(const Show& show, std::span<const KeyRef> keys);
/// Pastes with the earliest key at `at`; keys that would land beyond [0, show.length] are left out. pasted receives their names.
Show with_pasted(const Show& show, const KeyBundle& bundle, Time at, std::vector<KeyRef>* pasted = nullptr);

}  // namespace mien::show
