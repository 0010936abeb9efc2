// The workbench: the document's actuators one at a time. What is shared by the studio, which runs it, and the panels, which show it.
#pragma once
#include <memory>
#include <optional>
#include <vector>

#include "link/session.hpp"
#include "perform/bench.hpp"

namespace mien::editor {

struct Workbench {
  int actuator = 0;                             ///< index in the document's rig
  std::shared_ptr<const show::Rig> rig;         ///< of that actuator alone: what stage and boards have meanwhile
  perform::Bench bench;
  std::vector<show::Measured::Row> rows;        ///< of the measured table, as far as it was read
  std::optional<int> next;                      ///< comes onto the bench when outputs are silent
  bool leaving = false;                         ///< likewise
};

/// What the board reports of the rail that feeds an actuator; nothing where it reports none.
struct RailReading { double voltage_v = 0, current_a = 0; };
std::optional<RailReading> reading_of(const link::Status& link, const show::Rig& rig, const show::Actuator& actuator);

/// What the link is to the bench: armed only once setpoints are sent.
perform::Contact contact_of(const link::Status& link, const show::Actuator& actuator, bool performing) noexcept;

}  // namespace mien::editor
