#include "app/stage.hpp"

#include "store/store.hpp"

namespace mien::app {

std::vector<sound::Placed> sounds_of(const show::Show& show, const std::filesystem::path& folder, show::Findings& notes) {
  std::vector<sound::Placed> placed;
  for (const auto& s : show.sounds) {
    auto wave = sound::load(folder / s.file, &notes);
    if (wave) placed.push_back(sound::placed(s, *wave));
    else notes.push_back(wave.problem());
  }
  return placed;
}

}  // namespace mien::app
