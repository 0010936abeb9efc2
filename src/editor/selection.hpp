// Which keyframes are chosen: for each control the times of its chosen keys, in rising order.
#pragma once
#include <map>
#include <string>
#include <vector>

#include "show/edit.hpp"

namespace mien::editor {

struct Selection {
  std::map<std::string, std::vector<show::Time>, std::less<>> times;

  bool empty() const noexcept { return times.empty(); }
  std::size_t size() const noexcept;
  bool contains(std::string_view control, show::Time time) const noexcept;
  /// nullptr where the control has no chosen key.
  const std::vector<show::Time>* of(std::string_view control) const noexcept;
  void add(const show::KeyRef& key);
  void remove(const show::KeyRef& key);
  std::vector<show::KeyRef> refs() const;
  static Selection from(std::vector<show::KeyRef> refs);
  friend bool operator==(const Selection&, const Selection&) = default;
};

/// The keys of `selection` that `show` still has.
Selection kept(const Selection& selection, const show::Show& show);
/// Every key of the show.
Selection all_keys(const show::Show& show);
/// Every key within the range, both ends included; of these controls only, where any are named.
Selection keys_in(const show::Show& show, show::Range range, const std::vector<std::string>& controls = {});
/// The key at that very time; nullptr where there is none.
const show::Keyframe* find_key(const show::Show& show, const show::KeyRef& ref) noexcept;
const show::Keyframe* find_key(const show::Channel& channel, show::Time time) noexcept;

}  // namespace mien::editor
