// Making a show's keys arrive, as a job.
#pragma once
#include <optional>

#include "editor/job.hpp"
#include "perform/arrive.hpp"

namespace mien::editor {

struct Arrived {
  show::ShowPtr from;  ///< what it was given
  std::optional<perform::Shortfall> which;
  perform::Arrival arrival;
};

/// `which`: that finding of the show alone.
Arrived arrive(const std::shared_ptr<const show::Rig>& rig, const show::ShowPtr& show, const std::optional<perform::Shortfall>& which, const GoOn& go_on);

}  // namespace mien::editor
