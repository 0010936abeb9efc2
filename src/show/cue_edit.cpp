#include "show/cue_edit.hpp"

#include <algorithm>

namespace mien::show {
namespace {

void put_for(std::string& where, const std::string& name, const std::string& now) {
  if (where == name) where = now;
}

}  // namespace

Show with_cue(const Show& show, Cue cue) {
  Show result = show;
  const int n = cue_index(result.cues, cue.name);
  if (n < 0) result.cues.push_back(std::move(cue));
  else result.cues[static_cast<std::size_t>(n)] = std::move(cue);
  return result;
}

Show without_cue(const Show& show, const std::string& name) {
  Show result = show;
  std::erase_if(result.cues, [&](const Cue& c) { return c.name == name; });
  for (Cue& cue : result.cues) {
    put_for(cue.follow, name, "");
    if (auto* choice = std::get_if<CueChoice>(&cue.deed)) std::erase(choice->cues, name);
  }
  return result;
}

Show with_cue_renamed(const Show& show, const std::string& name, const std::string& now) {
  if (now.empty() || cue_index(show.cues, now) >= 0 || cue_index(show.cues, name) < 0) return show;
  Show result = show;
  for (Cue& cue : result.cues) {
    put_for(cue.name, name, now);
    put_for(cue.follow, name, now);
    if (auto* choice = std::get_if<CueChoice>(&cue.deed))
      for (std::string& other : choice->cues) put_for(other, name, now);
  }
  return result;
}

Show with_cue_at(const Show& show, const std::string& name, std::size_t index) {
  const int n = cue_index(show.cues, name);
  if (n < 0) return show;
  Show result = show;
  Cue cue = std::move(result.cues[static_cast<std::size_t>(n)]);
  result.cues.erase(result.cues.begin() + n);
  result.cues.insert(result.cues.begin() + static_cast<std::ptrdiff_t>(std::min(index, result.cues.size())), std::move(cue));
  return result;
}

void clip_renamed_in_cues(Show& show, const std::string& name, const std::string& now) {
  for (Cue& cue : show.cues)
    if (auto* d = std::get_if<CueClip>(&cue.deed)) put_for(d->clip, name, now);
}

void pose_renamed_in_cues(Show& show, const std::string& name, const std::string& now) {
  for (Cue& cue : show.cues)
    if (auto* d = std::get_if<CuePose>(&cue.deed)) put_for(d->pose, name, now);
}

}  // namespace mien::show
