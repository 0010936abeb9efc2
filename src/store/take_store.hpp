// Takes as files, `NAME.take.json`: what hands did, raw, a value for each tick, until a person drops it.
#pragma once
#include <vector>

#include "live/take.hpp"
#include "store/store.hpp"

namespace mien::store {

/// The same as save_show: complete or not at all.
std::optional<show::Finding> save_takes(const Path& path, const std::vector<live::Take>& takes, Disk& disk = real_disk());
/// Whole and in order: times rise, values are finite, stretches lie within their track. A file without takes is a finding.
show::Result<std::vector<live::Take>> load_takes(const Path& path);

}  // namespace mien::store
