// The workbench by hand: first with a stage that only remembers, then with the real one and simulated boards.
#include <GLFW/glfw3.h>
#include <gtest/gtest.h>

#include <chrono>
#include <cmath>
#include <thread>

#include "editor/hands.hpp"
#include "store/store.hpp"
#include "support/folder.hpp"

namespace mien::tests {
namespace {
using editor::Dialog;
using support::Folder;
using editor::kAlt;
using editor::kCtrl;
using editor::kShift;
using perform::Doing;

double shown_deg(const FakeStage& stage) { return stage.published->channels.front()->keys.front().value; }

const perform::Bench& bench_of(const Hands& hands) { return hands.studio->bench()->bench; }

// What a link and a head would do: position follows what was published.
void live_frames(Hands& hands, int count) {
  for (int i = 0; i < count; ++i) {
    hands.stage.now.setpoint_deg[0] = shown_deg(hands.stage);
    hands.frame();
  }
}
void until_steady(Hands& hands) {
  for (int i = 0; i < 20'000 && bench_of(hands).moving(); ++i) live_frames(hands, 1);
}

void open_and_arm(Hands& hands) {
  hands.studio->act("bench");
  ASSERT_TRUE(hands.studio->bench());
  hands.studio->apply(editor::OpenPort{"sim:"});
  hands.settle();
  hands.click("button/Arm\u2026");
  ASSERT_EQ(hands.studio->dialog(), Dialog::checklist);
  hands.click("button/Arm this one servo");
  EXPECT_EQ(hands.stage.status.state, link::State::ready) << "before every line is ticked";
  for (const char* line : {"check/Horn off", "check/Supply limited", "check/Fingers and skin clear"}) hands.click(line);
  hands.click("button/Arm this one servo");
  ASSERT_EQ(hands.stage.status.state, link::State::armed);
  live_frames(hands, 5);
  ASSERT_EQ(bench_of(hands).doing(), Doing::holding);
}

TEST(Workbench, PutsOneActuatorOnTheStageAndTheWholeHeadBack) {
  Hands hands;
  const show::Rig whole = hands.document().rig();
  hands.click("menu/Bench");
  hands.click("item/bench");
  EXPECT_TRUE(hands.sees("bench/actuator lids"));
  EXPECT_FALSE(hands.sees("timeline/ruler"));
  ASSERT_EQ(hands.stage.rig.actuators.size(), 1u);
  EXPECT_EQ(hands.stage.rig.actuators[0].name, "lids");
  hands.click("bench/actuator corners");
  EXPECT_EQ(hands.stage.rig.actuators[0].name, "corners");
  EXPECT_FALSE(hands.studio->act("play"));
  EXPECT_FALSE(hands.studio->act("add_key"));
  hands.click("button/Leave the workbench");
  EXPECT_EQ(hands.stage.rig, whole);
  EXPECT_EQ(*hands.stage.published_rig, whole);
  EXPECT_TRUE(hands.sees("timeline/ruler"));
  EXPECT_FALSE(hands.document().unsaved());
}

TEST(Workbench, IsClosedWhileTheHeadIsArmed) {
  Hands hands;
  hands.studio->apply(editor::OpenPort{"sim:"});
  hands.settle();
  hands.stage.arm();
  hands.settle();
  EXPECT_FALSE(hands.studio->act("bench"));
}

TEST(Workbench, ArmsOnlyAfterTheChecklistAndJogsByKeysWithinTheBand) {
  Hands hands;
  open_and_arm(hands);
  const double middle = shown_deg(hands.stage);
  hands.press(GLFW_KEY_PERIOD);
  until_steady(hands);
  EXPECT_NEAR(shown_deg(hands.stage), middle + 1, 1e-9);
  hands.press(GLFW_KEY_COMMA, kAlt);
  until_steady(hands);
  EXPECT_NEAR(shown_deg(hands.stage), middle + 0.9, 1e-9);
  hands.click("button/+5");
  until_steady(hands);
  EXPECT_NEAR(shown_deg(hands.stage), middle + 5, 1e-9) << "the guard band's edge";
  hands.click("button/Widen above");
  hands.click("button/+5");
  until_steady(hands);
  EXPECT_NEAR(shown_deg(hands.stage), middle + 10, 1e-9);
  EXPECT_EQ(hands.stage.published_rig->actuators.size(), 1u);
}

TEST(Workbench, WritesEndsIntoTheRigUndoablyAndSavesIt) {
  Folder folder;
  const auto rig_file = folder.path() / "pip.rig.json";
  ASSERT_FALSE(store::save_rig(rig_file, small_rig()));
  ASSERT_FALSE(store::save_show(folder.path() / "a.show.json", small_show()));
  Hands hands;
  hands.studio->open(folder.path() / "a.show.json");
  hands.settle();
  open_and_arm(hands);
  hands.click("button/\u22125");
  until_steady(hands);
  hands.click("button/Minimum, now -45.0##minimum");
  EXPECT_EQ(hands.document().rig().actuators[0].min_deg, -5);
  EXPECT_EQ(hands.document().undo_name(), "Set minimum of lids");
  EXPECT_EQ(hands.stage.status.state, link::State::armed) << "the bench goes on";
  hands.press(GLFW_KEY_Z, kCtrl);
  EXPECT_EQ(hands.document().rig().actuators[0].min_deg, -45);
  hands.press(GLFW_KEY_Z, kCtrl | kShift);
  hands.press(GLFW_KEY_S, kCtrl);
  EXPECT_FALSE(hands.document().unsaved());
  EXPECT_EQ(store::load_rig(rig_file)->rig->actuators[0].min_deg, -5);
  hands.studio->act("bench_leave");
  hands.settle();
  EXPECT_EQ(hands.stage.rig.actuators.size(), 3u);
  EXPECT_EQ(hands.stage.rig.actuators[0].min_deg, -5);
}

// Sets both ends, five degrees to each side of the middle.
void find_ends(Hands& hands) {
  hands.click("button/\u22125");
  until_steady(hands);
  hands.studio->apply(editor::Work{editor::Work::Do::minimum});
  hands.click("button/+5");
  until_steady(hands);
  hands.click("button/+5");
  until_steady(hands);
  hands.studio->apply(editor::Work{editor::Work::Do::maximum});
  hands.settle();
}

TEST(Workbench, TravelCommissionsAndAnyKeyEndsIt) {
  Hands hands;
  open_and_arm(hands);
  hands.press(GLFW_KEY_T);
  EXPECT_EQ(bench_of(hands).doing(), Doing::holding) << "ends are not found";
  EXPECT_FALSE(hands.studio->notices().empty());
  hands.studio->apply(editor::Dismiss{});
  find_ends(hands);
  hands.press(GLFW_KEY_T);
  live_frames(hands, 20);
  ASSERT_EQ(bench_of(hands).doing(), Doing::travelling);
  hands.press(GLFW_KEY_A);
  EXPECT_EQ(bench_of(hands).doing(), Doing::holding);
  EXPECT_FALSE(hands.document().rig().actuators[0].commissioned);
  hands.click("button/Travel end to end  T");
  until_steady(hands);
  hands.settle();
  EXPECT_TRUE(hands.document().rig().actuators[0].commissioned);
  EXPECT_EQ(hands.document().undo_name(), "Commission lids");
}

TEST(Workbench, EscapeEndsPulsesInMidTravelAndSoDoesALostLink) {
  for (const bool loss : {false, true}) {
    Hands hands;
    open_and_arm(hands);
    find_ends(hands);
    hands.press(GLFW_KEY_T);
    live_frames(hands, 20);
    ASSERT_TRUE(bench_of(hands).moving());
    hands.stage.asked.clear();
    if (loss) hands.stage.status.state = link::State::lost, hands.frame();
    else hands.press(GLFW_KEY_ESCAPE);
    ASSERT_FALSE(hands.stage.asked.empty());
    EXPECT_EQ(hands.stage.asked.front(), "stop");
    EXPECT_FALSE(bench_of(hands).moving());
    const double there = shown_deg(hands.stage);
    live_frames(hands, 20);
    EXPECT_EQ(shown_deg(hands.stage), there);
    EXPECT_FALSE(bench_of(hands).driven());
  }
}

TEST(Workbench, ShowsWhatTheBoardMeasuresAndEndsPulsesAboveTheThreshold) {
  Hands hands;
  link::BoardStatus board;
  board.name = "face", board.answering = true;
  hands.stage.status.boards = {board};
  open_and_arm(hands);
  EXPECT_TRUE(hands.sees("bench/supply not reported"));
  hands.stage.status.boards[0].rails = {{5.1, 0.1}};
  live_frames(hands, 3);
  EXPECT_TRUE(hands.sees("bench/supply"));
  EXPECT_EQ(bench_of(hands).doing(), Doing::holding);
  hands.stage.asked.clear();
  hands.stage.status.boards[0].rails[0].current_a = bench_of(hands).most_current_a() + 0.01;
  hands.frame();
  ASSERT_FALSE(hands.stage.asked.empty());
  EXPECT_EQ(hands.stage.asked.front(), "stop");
  EXPECT_EQ(bench_of(hands).halted(), perform::Halt::current);
}

TEST(Workbench, ReversesWhileSilentOnly) {
  Hands hands;
  open_and_arm(hands);
  hands.studio->apply(editor::Work{editor::Work::Do::turn_round});
  EXPECT_FALSE(hands.document().rig().actuators[0].reversed);
  hands.press(GLFW_KEY_ESCAPE);
  hands.click("button/Reverse");
  EXPECT_TRUE(hands.document().rig().actuators[0].reversed);
  EXPECT_TRUE(hands.stage.published_rig->actuators[0].reversed);
  hands.press(GLFW_KEY_Z, kCtrl);
  EXPECT_FALSE(hands.stage.published_rig->actuators[0].reversed);
}

TEST(Workbench, ReadsATableRowByRow) {
  Hands hands;
  open_and_arm(hands);
  hands.click("field/read");
  hands.type("2.5");
  hands.click("button/Add row");
  hands.click("button/+5");
  until_steady(hands);
  hands.click("field/read");
  hands.type("4");
  hands.click("button/Add row");
  ASSERT_EQ(hands.studio->bench()->rows.size(), 2u);
  hands.click("button/Use table");
  const auto* measured = std::get_if<show::Measured>(&hands.document().rig().mappings[0].response);
  ASSERT_TRUE(measured) << (hands.studio->notices().empty() ? "" : show::to_text(hands.studio->notices().front()));
  EXPECT_EQ(measured->rows, (std::vector<show::Measured::Row>{{2.5, 0}, {4, 5}}));
  EXPECT_EQ(hands.document().undo_name(), "Measured table of lids");
}

// The real stage: a performing thread, a link, boards in this process.
struct Real {
  std::unique_ptr<editor::Stage> stage = editor::real_stage(true);
  Hands hands;
  editor::Studio studio{*stage, hands.studio->look()};

  Real() {
    studio.take_document(editor::Document(std::make_shared<const show::Rig>(small_rig()), std::make_shared<const show::Show>(small_show()), {}, false), {});
  }
  template <class Condition>
  bool frames_until(Condition met) {
    const auto end = std::chrono::steady_clock::now() + std::chrono::seconds(60);
    while (!met() && std::chrono::steady_clock::now() < end) {
      ImGui::NewFrame();
      studio.frame({});
      ImGui::Render();
      std::this_thread::sleep_for(std::chrono::milliseconds(16));
    }
    return met();
  }
};

TEST(Workbench, DrivesOneSimulatedServoAndLeavesTheHeadAsItWas) {
  Real real;
  editor::Studio& studio = real.studio;
  studio.apply(editor::OpenPort{"sim:"});
  ASSERT_TRUE(studio.act("bench"));
  ASSERT_TRUE(real.frames_until([&] { return studio.link().state == link::State::ready; }));
  ASSERT_TRUE(studio.act("arm"));
  ASSERT_EQ(studio.dialog(), Dialog::checklist);
  studio.apply(editor::Confirm{});
  ASSERT_TRUE(real.frames_until([&] { return studio.bench()->bench.doing() == Doing::holding; }));
  studio.apply(editor::Work{editor::Work::Do::jog, 3});
  ASSERT_TRUE(real.frames_until([&] { return std::abs(studio.report().setpoint_deg[0] - 3) < 1e-6; }));
  EXPECT_EQ(studio.report().actuators, 1);
  studio.apply(editor::Work{editor::Work::Do::leave});
  ASSERT_TRUE(real.frames_until([&] { return !studio.bench() && studio.report().actuators == 3; }));
  EXPECT_FALSE(studio.armed());
}

}  // namespace
}  // namespace mien::tests
