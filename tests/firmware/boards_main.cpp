// mien_boards SHOW [--seconds N] [--json] [--table FILE --setpoints FILE] [--text BYTES] [--baked BYTES]: for tests/boards.sh.
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <exception>

#include "firmware/performance.hpp"
#include "perform/render.hpp"
#include "store/store.hpp"

namespace {

using namespace mien;

void write_table(const char* file, const perform::Plan& plan, const firmware::Performance& p) {
  std::FILE* out = std::fopen(file, "w");
  if (!out) return std::perror(file);
  std::fprintf(out, "actuator,board,time_s,width_us,error_us,off_grid_us\n");
  for (const auto& m : p.pulses) {
    const auto& actuator = plan.rig->actuators[static_cast<std::size_t>(m.actuator)];
    std::fprintf(out, "%s,%s,%.6f,%.3f,%.3f,%.3f\n", actuator.name.c_str(), actuator.board.c_str(), (m.rise_us - p.began_us) * 1e-6, m.width_us,
                 m.error_us, m.off_grid_us);
  }
  std::fclose(out);
}

/// The lines of the picture: the pulses that the show asks for.
void write_setpoints(const char* file, const perform::Plan& plan, double seconds) {
  std::FILE* out = std::fopen(file, "w");
  if (!out) return std::perror(file);
  std::fprintf(out, "time_s");
  for (const auto& a : plan.rig->actuators) std::fprintf(out, ",%s", a.name.c_str());
  perform::render(plan, show::Time{0}, [&](const perform::Tick& tick) {
    std::fprintf(out, "\n%.3f", show::to_seconds(tick.time));
    for (int a = 0; a < plan.actuators(); ++a)
      std::fprintf(out, ",%.4f", perform::pulse_of(plan, a, tick.setpoint_deg[static_cast<std::size_t>(a)]) / double(wire::kUnitsPerUs));
    return show::to_seconds(tick.time) < seconds;
  });
  std::fprintf(out, "\n");
  std::fclose(out);
}

int run(int argc, char** argv) {
  double seconds = 10;
  bool json = false;
  const char *show = nullptr, *table = nullptr, *setpoints = nullptr, *text = "0", *baked = "0";
  for (int i = 1; i < argc; ++i) {
    if (!std::strcmp(argv[i], "--json")) json = true;
    else if (!std::strcmp(argv[i], "--seconds") && i + 1 < argc) seconds = std::atof(argv[++i]);
    else if (!std::strcmp(argv[i], "--table") && i + 1 < argc) table = argv[++i];
    else if (!std::strcmp(argv[i], "--setpoints") && i + 1 < argc) setpoints = argv[++i];
    else if (!std::strcmp(argv[i], "--text") && i + 1 < argc) text = argv[++i];
    else if (!std::strcmp(argv[i], "--baked") && i + 1 < argc) baked = argv[++i];
    else show = argv[i];
  }
  if (!show) return std::fprintf(stderr, "Name a show.\n"), 2;
  if (const std::string why = firmware::missing(); !why.empty()) return std::fprintf(stderr, "%s\n", why.c_str()), 2;
  const auto loaded = store::load_show(show);
  if (!loaded) return std::fprintf(stderr, "%s\n", show::to_text(loaded.problem()).c_str()), 2;
  const auto plan = perform::compile(loaded->rig, loaded->show);
  const firmware::Performance p = firmware::perform(*plan, seconds, 5'000);
  if (table) write_table(table, *plan, p);
  if (setpoints) write_setpoints(setpoints, *plan, seconds);
  const char* form = json ? "{\"boards\": %d, \"pulses\": %zu, \"worst_pulse_error_us\": %.3f, \"latch_skew_us\": %.1f, \"latch_jitter_p99_us\": %.1f, "
                            "\"hop_us\": %.1f, \"baked_bytes_per_actuator_second\": %s, \"firmware_text_bytes\": %s}\n"
                          : "boards %d\npulses %zu\nworst_pulse_error_us %.3f\nlatch_skew_us %.1f\nlatch_jitter_p99_us %.1f\nhop_us %.1f\n"
                            "baked_bytes_per_actuator_second %s\nfirmware_text_bytes %s\n";
  std::printf(form, p.boards, p.pulses.size(), p.worst_error_us, p.skew_us, p.jitter_p99_us, p.hop_us, baked, text);
  return 0;
}

}  // namespace

int main(int argc, char** argv) {
  try {
    return run(argc, argv);
  } catch (const std::exception& e) {
    std::fprintf(stderr, "The emulated boards: %s\n", e.what());
    return 1;
  }
}
