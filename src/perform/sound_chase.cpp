#include "perform/sound_chase.hpp"

#include <algorithm>
#include <cstdlib>

namespace mien::perform {

std::optional<show::Time> SoundChase::look(show::Time time, std::int64_t at_ns, std::uint64_t locates, bool sounding, const sound::ClockLine& heard) noexcept {
  if (sounding && locates_ == locates) {
    if (!heard.running || at_ns - began_ns_ < kSettles_ns) return std::nullopt;
    const std::int64_t late_ns = time.count() - heard.at(at_ns);
    if (std::abs(late_ns) <= kOff_ns) return std::nullopt;
    lead_ns_ = std::clamp<std::int64_t>(lead_ns_ + late_ns, 0, kMostLead_ns);
  }
  locates_ = locates, began_ns_ = at_ns;
  return time + show::Time{lead_ns_};
}

}  // namespace mien::perform
