// Maps of hands as files, `NAME.map.json`. What one looks like: tests/samples/desk.map.json.
#pragma once
#include "live/hand_map.hpp"
#include "store/store.hpp"

namespace mien::store {

struct LoadedMap {
  live::HandMap map;
  show::Findings notes;  ///< notes and warnings; never an error
};

/// The first error where there is one, with the number of the others. With a show the warnings tell of poses and clips that it lacks.
show::Result<LoadedMap> load_map(const Path& path, const show::Rig& rig, const show::Show* show = nullptr);

/// As save_show does; a map that meets no rig is saved all the same.
std::optional<show::Finding> save_map(const Path& path, const live::HandMap& map, Disk& disk = real_disk());

/// The text of a file and back, with no rig to hold it against.
std::string write_map(const live::HandMap& map);
show::Result<live::HandMap> read_map(std::string_view text, const std::string& file);

/// True where the text says that it is a map's; for files that may be anything.
bool says_map(std::string_view text);

}  // namespace mien::store
