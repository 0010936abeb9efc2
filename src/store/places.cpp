#include "store/places.hpp"

#include <cstdlib>

namespace mien::store {

Places places_of(const std::function<const char*(const char*)>& look_up) {
  const auto folder = [&](const char* variable, const char* below_home) -> std::filesystem::path {
    const char* own = look_up(variable);
    if (own && own[0] == '/') return std::filesystem::path(own) / "mien";
    const char* home = look_up("HOME");
    if (!home || home[0] != '/') return {};
    return std::filesystem::path(home) / below_home / "mien";
  };
  return {folder("XDG_CONFIG_HOME", ".config"), folder("XDG_STATE_HOME", ".local/state")};
}

Places user_places() {
  return places_of([](const char* name) { return static_cast<const char*>(std::getenv(name)); });  // NOLINT(concurrency-mt-unsafe): nothing in this program changes its environment
}

}  // namespace mien::store
