// Which part of the face a name means, and what such parts are usually like.
#include <algorithm>
#include <array>
#include <cctype>
#include <set>

#include "show/suggest.hpp"

namespace mien::show {
namespace {

// "Left upper eyelid" and "L_eyelidUpper2" as sets of small words; letters that change from small to capital begin a word.
std::set<std::string> words_of(std::string_view text) {
  std::set<std::string> words;
  std::string word;
  const auto flush = [&] {
    if (!word.empty()) words.insert(word);
    word.clear();
  };
  for (std::size_t i = 0; i < text.size(); ++i) {
    const auto c = static_cast<unsigned char>(text[i]);
    if (!std::isalpha(c)) flush();
    else {
      if (std::isupper(c) && i > 0 && std::islower(static_cast<unsigned char>(text[i - 1]))) flush();
      word += static_cast<char>(std::tolower(c));
    }
  }
  flush();
  return words;
}

struct Words {
  std::set<std::string> words;
  bool any(std::initializer_list<const char*> of) const {
    return std::any_of(of.begin(), of.end(), [&](const char* w) { return words.contains(w); });
  }
  // "left", "right", or nothing; a name of both sides says neither.
  std::string side() const {
    const bool left = any({"left", "l", "lh"}), right = any({"right", "r", "rh"});
    return left == right ? "" : left ? "_left" : "_right";
  }
};

std::string brow(const Words& w) {
  const char* part = w.any({"inner", "inside", "medial"}) ? "inner" : w.any({"outer", "outside", "lateral"}) ? "outer" : w.any({"tilt", "rotate", "turn"}) ? "tilt" : "raise";
  return std::string("brow_") + part + w.side();
}
std::string eye(const Words& w) {
  if (w.any({"yaw", "pan", "x", "horizontal", "sideways", "lr"})) return "eye_yaw" + w.side();
  return w.any({"pitch", "tilt", "y", "vertical", "updown", "ud"}) ? "eye_pitch" + w.side() : "";
}
std::string lid(const Words& w) { return (w.any({"lower", "bottom", "low"}) ? "lid_lower" : "lid_upper") + w.side(); }
std::string corner(const Words& w) { return (w.any({"up", "raise", "smile", "lift", "vertical"}) ? "lip_corner_up" : "lip_corner_wide") + w.side(); }
std::string lip(const Words& w) {
  const std::string side = w.side().empty() ? "_centre" : w.side();
  return (w.any({"lower", "bottom", "low"}) ? "lip_lower" : "lip_upper") + side;
}
std::string neck(const Words& w) {
  return w.any({"yaw", "pan", "turn", "x"}) ? "neck_yaw" : w.any({"pitch", "nod", "y"}) ? "neck_pitch" : w.any({"roll", "tilt"}) ? "neck_roll" : "";
}

std::string spelled(const Words& w) {
  if (w.any({"brow", "eyebrow", "brows", "eyebrows"})) return brow(w);
  if (w.any({"lid", "eyelid", "lids", "eyelids", "blink"})) return lid(w);
  if (w.any({"eye", "eyes", "eyeball", "gaze"})) return eye(w);
  if (w.any({"jaw", "chin", "mandible"})) return w.any({"side", "sideways", "yaw", "shift"}) ? "jaw_side" : "jaw_open";
  if (w.any({"corner", "smile"})) return corner(w);
  if (w.any({"lip", "lips"})) return lip(w);
  if (w.any({"cheek", "cheeks"})) return "cheek" + w.side();
  if (w.any({"nose", "sneer", "nostril"})) return "nose_wrinkle";
  if (w.any({"neck", "head"})) return neck(w);
  return "";
}

}  // namespace

std::optional<Role> role_of(std::string_view text) {
  if (const auto exact = parse_role(text)) return exact;
  return parse_role(spelled({words_of(text)}));
}

std::string_view group_of(Role role) noexcept {
  if (role <= Role::brow_tilt_right) return "brows";
  if (role <= Role::eye_pitch) return "eyes";
  if (role <= Role::lid_lower) return "lids";
  if (role <= Role::jaw_side) return "jaw";
  if (role <= Role::lip_lower_right) return "mouth";
  if (role <= Role::cheek_right) return "cheeks";
  return role == Role::nose_wrinkle ? "nose" : "neck";
}

Travel travel_of(Role role) noexcept {
  switch (role) {
    case Role::eye_yaw_left:
    case Role::eye_yaw_right: return {-35, 35};
    case Role::eye_pitch_left:
    case Role::eye_pitch_right:
    case Role::eye_pitch: return {-25, 25};
    case Role::lid_upper_left:
    case Role::lid_upper_right:
    case Role::lid_upper: return {-35, 15};
    case Role::lid_lower_left:
    case Role::lid_lower_right:
    case Role::lid_lower: return {-10, 15};
    case Role::jaw_open: return {-2, 30};
    case Role::jaw_side: return {-12, 12};
    case Role::neck_yaw: return {-40, 40};
    case Role::neck_pitch:
    case Role::neck_roll: return {-25, 25};
    default: return {-20, 20};
  }
}

}  // namespace mien::show
