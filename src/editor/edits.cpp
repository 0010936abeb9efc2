#include "editor/edits.hpp"

#include <algorithm>
#include <cmath>

#include "editor/counted.hpp"

namespace mien::editor {
namespace {

double within(const show::Rig& rig, const std::string& control, double value) {
  const show::Control* c = find_control(rig, control);
  if (!std::isfinite(value)) return c ? c->rest : 0;
  return c && c->min <= c->max ? std::clamp(value, c->min, c->max) : value;
}

struct Applier {
  const show::Show& show;
  const show::Rig& rig;
  const Selection& selection;

  Edited operator()(const SetKey& e) const {
    show::Keyframe key = e.key;
    key.time = std::clamp(key.time, show::Time{0}, std::max(show.length, show::Time{0}));
    key.value = within(rig, e.control, key.value);
    return {"Set key", show::with_key(show, e.control, key), Selection::from({{e.control, key.time}})};
  }
  Edited operator()(const DeleteKeys& e) const {
    show::Show after = show::without_keys(show, e.keys);
    Selection left = kept(selection, after);
    return {counted_keys("Delete", e.keys.size()), std::move(after), std::move(left)};
  }
  Edited operator()(const MoveKeys& e) const {
    double dv = std::isfinite(e.dv) ? e.dv : 0;
    if (dv != 0) dv = room_for(e.keys, dv, e.of_range);
    std::vector<show::KeyRef> moved;
    show::Show after = show::with_keys_moved(show, e.keys, e.dt, e.of_range ? 0 : dv, &moved);
    if (e.of_range && dv != 0) {
      for (const auto& [control, times] : Selection::from(moved).times) {
        std::vector<show::KeyRef> mine;
        for (const show::Time t : times) mine.push_back({control, t});
        if (const show::Control* c = find_control(rig, control)) after = show::with_keys_moved(after, mine, show::Time{0}, dv * (c->max - c->min));
      }
    }
    if (e.duplicate)
      for (const show::KeyRef& old : e.keys) {
        const show::Keyframe* key = find_key(show, old);
        if (key && !find_key(after, old)) after = show::with_key(after, old.control, *key);
      }
    return {counted_keys(e.duplicate ? "Duplicate" : "Move", e.keys.size()), std::move(after), Selection::from(std::move(moved))};
  }
  Edited operator()(const SetValue& e) const {
    // Controls differ in range, so each control's keys get the value that its own range allows.
    show::Show after = show;
    for (const auto& [control, list] : Selection::from(e.keys).times) {
      std::vector<show::KeyRef> keys;
      for (const show::Time t : list) keys.push_back({control, t});
      after = show::with_values(after, keys, within(rig, control, e.value));
    }
    return {counted_keys("Set value of", e.keys.size()), std::move(after), selection};
  }
  Edited operator()(const SetTime& e) const {
    return (*this)(MoveKeys{{e.key}, e.time - e.key.time, 0, false});
  }
  Edited operator()(const SetEasing& e) const {
    return {counted_keys("Set easing of", e.keys.size()), show::with_easing(show, e.keys, e.easing), selection};
  }
  Edited operator()(const PasteKeys& e) const {
    std::vector<show::KeyRef> pasted;
    show::KeyBundle known;
    for (const auto& strand : e.bundle.strands)
      if (find_control(rig, strand.control)) known.strands.push_back(strand);
    show::Show after = show::with_pasted(show, known, std::max(e.at, show::Time{0}), &pasted);
    return {counted_keys("Paste", pasted.size()), std::move(after), Selection::from(std::move(pasted))};
  }
  Edited operator()(const SetLoop& e) const {
    show::Show after = show;
    after.loop.reset();
    if (e.loop) {
      const show::Range in{std::clamp(e.loop->begin, show::Time{0}, show.length), std::clamp(e.loop->end, show::Time{0}, show.length)};
      if (!in.empty()) after.loop = in;
    }
    return {after.loop ? "Set loop" : "Clear loop", std::move(after), selection};
  }
  Edited operator()(const AddMarker& e) const {
    show::Show after = show;
    const auto at = std::upper_bound(after.markers.begin(), after.markers.end(), e.marker.time,
                                     [](show::Time t, const show::Marker& m) { return t < m.time; });
    after.markers.insert(at, e.marker);
    return {"Add marker", std::move(after), selection};
  }
  Edited operator()(const SetMarker& e) const {
    show::Show after = show;
    const auto at = std::find(after.markers.begin(), after.markers.end(), e.was);
    if (at == after.markers.end()) return {"Change marker", std::move(after), selection};
    after.markers.erase(at);
    Edited made = Applier{after, rig, selection}(AddMarker{{std::clamp(e.now.time, show::Time{0}, std::max(show.length, show::Time{0})), e.now.name}});
    made.name = e.was.time == e.now.time ? "Rename marker" : "Move marker";
    return made;
  }
  Edited operator()(const DeleteMarker& e) const {
    show::Show after = show;
    const auto at = std::find(after.markers.begin(), after.markers.end(), e.marker);
    if (at != after.markers.end()) after.markers.erase(at);
    return {"Delete marker", std::move(after), selection};
  }
  Edited operator()(const SetLength& e) const {
    show::Show after = show;
    after.length = std::max({e.length, show::Time{0}, last_key()});
    if (after.loop && after.loop->end > after.length) after.loop.reset();
    return {"Set length", std::move(after), selection};
  }
  Edited operator()(const AddSound& e) const {
    show::Show after = show;
    after.sounds.push_back(e.sound);
    return {"Add sound", std::move(after), selection};
  }
  Edited operator()(const SetChannels& e) const {
    show::Show after = show;
    after.channels = e.channels;
    std::erase(after.channels, nullptr);
    Selection left = kept(selection, after);
    return {e.name, std::move(after), std::move(left)};
  }

  Edited operator()(const HandleEdit& e) const { return lay_handles(e, show, selection); }
  Edited operator()(const Reshaping& e) const { return reshape(e, show, rig, selection); }
  Edited operator()(const Composition& e) const { return compose(e, show, rig, selection); }

 private:
  show::Time last_key() const {
    show::Time last{0};
    for (const auto& c : show.channels)
      if (c && !c->keys.empty()) last = std::max(last, c->keys.back().time);
    return last;
  }
  // The group of keys moves as one: by as much of dv as the tightest key has room for.
  double room_for(const std::vector<show::KeyRef>& keys, double dv, bool of_range) const {
    for (const show::KeyRef& ref : keys) {
      const show::Keyframe* key = find_key(show, ref);
      const show::Control* c = find_control(rig, ref.control);
      if (!key || !c || !(c->max > c->min)) continue;
      const double room = (dv > 0 ? c->max - key->value : c->min - key->value) / (of_range ? c->max - c->min : 1);
      dv = dv > 0 ? std::min(dv, std::max(room, 0.0)) : std::max(dv, std::min(room, 0.0));
    }
    return dv;
  }
};

}  // namespace

const show::Control* find_control(const show::Rig& rig, std::string_view name) noexcept {
  for (const show::Control& c : rig.controls)
    if (c.name == name) return &c;
  return nullptr;
}

Edit::Edit(const Edit&) = default;
Edit::Edit(Edit&&) noexcept = default;
Edit& Edit::operator=(const Edit&) = default;
Edit& Edit::operator=(Edit&&) noexcept = default;
Edit::~Edit() = default;

Edited apply(const Edit& edit, const show::Show& show, const show::Rig& rig, const Selection& selection) {
  return std::visit(Applier{show, rig, selection}, edit);
}

}  // namespace mien::editor
