// The editor without its window: document, view, dialogs and stage; one frame builds the whole picture through the drawing
// library, collects what the person asked for and applies it. The program gives it a window and a real stage, tests give it neither.
#pragma once
#include <array>
#include <chrono>
#include <atomic>
#include <functional>
#include <future>
#include <memory>
#include <string>
#include <vector>

#include "editor/action.hpp"
#include "editor/arrive_job.hpp"
#include "editor/command.hpp"
#include "editor/desktop_dialog.hpp"
#include "editor/ghost.hpp"
#include "editor/hands_desk.hpp"
#include "editor/input.hpp"
#include "editor/journal.hpp"
#include "editor/keys.hpp"
#include "editor/panels.hpp"
#include "editor/scene.hpp"
#include "editor/setpoint_worker.hpp"
#include "editor/speech_desk.hpp"
#include "editor/underneath.hpp"
#include "editor/workbench.hpp"
#include "perform/bake_layers.hpp"
#include "perform/inputs.hpp"
#include "store/places.hpp"
#include "store/recovery.hpp"
#include "store/settings.hpp"

namespace mien::editor {

class Studio {
 public:
  /// Draws the head into the current panel's rectangle; empty in tests.
  using DrawHead = std::function<void(const Scene&, float x, float y, float width, float height)>;

  Studio(Stage& stage, Look look, Journal journal = {});
  ~Studio();

  /// Between the drawing library's NewFrame and Render. `presses` are this frame's keys.
  void frame(const std::vector<KeyPress>& presses);
  void apply(const Command& command);
  /// In place of frame() once the display is gone, every few milliseconds: inputs, cues and other machines are obeyed as ever. A head that nobody could ask for
  /// anything any more is taken to rest. False when all is done. No widget and no screen is touched.
  bool go_on_unseen();
  /// Whether boards drive outputs for the show.
  bool performs() const noexcept;
  /// Adds a line to the journal.
  void write_down(const std::string& line) { journal_.line(line); }
  /// Waits until unsaved work is on the disk for the next start.
  void settle_work();
  /// False where the action is unknown or not possible now.
  bool act(std::string_view id);

  /// Reads settings, keys and recent shows, begins to keep unsaved work, and offers what a crash left. Without it nothing outside of shows is read
  /// or written. Once, before the first show is opened.
  void move_in(store::Places places);
  /// Files are chosen in the desktop's dialog, which `ask` opens before the window `window` (as PathWanted::parent), unless the settings say otherwise or a head is driven. Without it, in Mien's own.
  void use_desktop_dialogs(AskPortal ask, std::string window);
  /// Stops the hardware at once, from any callback, whatever is open.
  void stop_now();

  void open(const std::filesystem::path& file);
  void refuse(const show::Finding& why);
  /// Puts a document on the desk, on a tab of its own; in place of one that is new and untouched, or of one from the same file with nothing unsaved.
  void take_document(Document document, show::Findings notes);
  /// The window's close button: asks first where work is unsaved.
  void ask_to_quit();
  /// The shows that are open, in the order of their tabs, and which is in front: it alone is heard, performed and driven.
  std::size_t tabs() const noexcept { return tabs_.size(); }
  std::size_t front() const noexcept { return front_; }
  /// Precondition: which < tabs().
  const Document& tab(std::size_t which) const noexcept { return which == front_ ? document_ : tabs_[which].document; }
  void next_tab(int by) {
    const int count = static_cast<int>(tabs_.size());
    if (count > 1) apply(ShowTab{static_cast<std::size_t>((static_cast<int>(front_) + by + count) % count)});
  }
  bool quit() const noexcept { return quit_; }
  std::string title() const;

  const Document& document() const noexcept { return document_; }
  const View& view() const noexcept { return view_; }
  Dialog dialog() const noexcept { return dialog_; }
  const show::Findings& notices() const noexcept { return notices_; }
  const perform::Report& report() const noexcept { return report_; }
  /// Of what is on screen, or of what was a moment ago; nullptr before the first.
  std::shared_ptr<const Feasibility> feasibility() const;
  const Arriving& arriving() const noexcept { return arriving_; }
  const Baking& baking() const noexcept { return baking_; }
  const link::Status& link() const noexcept { return link_; }
  Panels& panels() noexcept { return panels_; }
  const Panels& panels() const noexcept { return panels_; }
  const Look& look() const noexcept { return look_; }
  void set_look(Look look) { look_ = std::move(look); }
  void set_draw_face(DrawFace draw) { draw_face_ = std::move(draw); }
  void set_draw_head(DrawHead draw) { draw_head_ = std::move(draw); }
  /// Whether something on screen moves by itself, so that frames should go on without input.
  bool lively() const noexcept;

  // What actions do; see action.cpp.
  void new_show(const std::filesystem::path& rig_file);
  bool save();
  bool save_as(const std::filesystem::path& file);
  void undo();
  void redo();
  void copy();
  void paste();
  void toggle_play();
  void stop_playing();
  void disconnect();
  void disarm();
  void step_playhead(int ticks);
  void jump_to_key(int direction);
  void jump_to_finding(int direction);
  void arrive_here();  ///< the finding at the playhead, of the chosen channel
  bool finding_here() const;
  void toggle_spectrogram() { view_.spectrogram = !view_.spectrogram; }
  const SpeechDesk& speech() const noexcept { return speech_; }
  void toggle_as_built() { view_.as_built = !view_.as_built; }
  void add_key_at_playhead();
  void toggle_theme();
  void theme_of_desktop();
  void choose_theme(store::Settings::Theme theme, bool keep);  ///< not kept: for this session, as the command line asked
  void change_text(int steps);
  void switch_dialogs();
  void copy_findings();
  void usual_keys();
  const store::Settings& settings() const noexcept { return settings_; }
  const Keys& keys() const noexcept { return keys_; }
  const std::vector<std::filesystem::path>& recent() const noexcept { return recent_; }
  const std::filesystem::path* show_before() const noexcept;  ///< the newest recent show that is not this one; nullptr: none
  const std::vector<store::Left>& left() const noexcept { return left_; }
  void see(show::Range range);
  show::Time playhead() const noexcept;
  bool can_paste() const noexcept { return !clipboard_.strands.empty(); }
  void learn_trigger();  ///< the next key or button that is pressed is to do what is chosen in the list beside the lanes; again: never mind
  void toggle_cue_board();
  void release_cues();
  void learn();   ///< the next knob that moves is to lead the chosen channel; again: never mind
  void record();  ///< what hands do, from now on or after a count-in; again: stop
  void panic();
  const HandsDesk& hands() const noexcept { return hands_; }
  const live::NetworkStatus& network() const noexcept { return network_; }
  live::FollowSettings::Source follows() const noexcept { return follows_; }
  const live::CodeSent& code_sent() const noexcept { return code_sent_; }
  std::vector<std::string> midi_outputs() const { return stage_.midi_outputs(); }
  /// What is done where another machine asks for a cue; without it none is on.
  void open_bench();
  /// nullptr while the timeline is in sight.
  const Workbench* bench() const noexcept { return bench_ ? &*bench_ : nullptr; }
  /// Whether a board answers at a place where another one belongs.
  bool strangers() const noexcept;
  /// Whether boards drive outputs, or are about to.
  bool live() const noexcept { return armed() || link_.state == link::State::disarming; }
  bool armed() const noexcept { return link_.state == link::State::armed || link_.state == link::State::arming; }

 private:
  enum class Then { nothing, quit, close };

  void apply_one(const Say&);
  void apply_one(const Act&);
  void apply_one(const Change&);
  void apply_one(const TakeBack&);
  void apply_one(const Select&);
  void apply_one(const Choose&);
  void apply_one(const ShowTab&);
  void apply_one(const CloseTab&);
  void apply_one(const KeepInCurve&);
  void apply_one(const ShowCurve&);
  void apply_one(const ChooseLayer&);
  void apply_one(const ChooseClip&);
  void apply_one(const ChoosePose&);
  void apply_one(const OpenKeys&);
  void apply_one(const ShowSide&);
  void apply_one(const Bake&);
  void apply_one(const StopBaking&);
  void apply_one(const UsePose&);
  void apply_one(const SwitchLane&);
  void apply_one(const ShowTime&);
  void apply_one(const SnapTo&);
  void apply_one(const GoToStep&);
  void apply_one(const Fold&);
  void apply_one(const See&);
  void apply_one(const Seek&);
  void apply_one(const GoTo&);
  void apply_one(const MakeArrive&);
  void apply_one(const StopArriving&);
  void apply_one(const Ask&);
  void apply_one(const Browse&);
  void apply_one(const OpenFile&);
  void apply_one(const Drop&);
  void apply_one(const Recover&);
  void apply_one(const MakeHead&);
  void apply_one(const OpenPort&);
  void apply_one(const Dismiss&);
  void apply_one(const Confirm&);
  void apply_one(const Discard&);
  void apply_one(const Work&);
  void apply_one(const Hand&);
  void apply_one(const UseNetwork&);
  void apply_one(const CueAct&);
  void apply_one(const ChooseCue&);

  bool attended() const noexcept;
  void after_edit();
  void tell_stage();
  void lay_on_bench(int actuator);
  void leave_bench();
  void follow_bench();
  void show_on_bench();
  void change_rig(const std::string& name, const show::Result<show::Rig>& rig);
  bool keeps_front();  ///< whether the show in front must stay there, which is said then
  void stow();
  void bring(std::size_t which);
  void set_out();
  void close_front();
  void ask_next_unsaved();
  void unless_unsaved(Then then);
  void carry_on(Then then);
  void ask(Dialog dialog);
  void path_chosen(const std::filesystem::path& file, bool agreed);
  void export_as(Dialog asked, const std::filesystem::path& file, bool agreed);
  bool keeps_keyboard() const noexcept;
  void ask_desktop();
  void own_dialog();
  void follow_desktop_dialog();
  void load_sounds();
  void follow_stage();
  void follow_sounds();
  void follow_inputs();
  void obey(const show::Input& input);
  void follow_findings();
  void follow_hands();
  bool wind_up();  ///< the tape; false where what is on it isn't of what was to be recorded
  void follow_network();
  void follow_cues();
  bool take_cue_key(const KeyPress& press);
  bool change_trigger(const Hand& c);
  bool change_knob(const Hand& c);
  void fetch_hands();
  void meet_gamepad();
  void map_changed();
  void keep_takes();
  void start_recording();
  void stop_recording();
  void follow_arrival();
  void follow_desktop();
  void follow_work();
  void watch_files(const store::Stamp& show);
  void follow_files();
  std::vector<std::filesystem::path> others_at(const std::filesystem::path& target) const;
  bool save_if_ours(const std::filesystem::path& target, bool agreed = false);
  void offer_left();
  void recover(std::size_t which);
  void remember(const std::filesystem::path& show);
  void save_settings();
  void note(std::optional<show::Finding> problem);
  bool take_key(const KeyPress& press);
  void wear(bool dark);
  void follow_bake();
  void follow_talk();
  void follow_spectra();
  void begin_speaking();
  void start_talk(TalkWanted wanted);
  void follow_rivals();
  void follow_keys();
  show::ShowPtr performed() const;
  const DrawnSpeech* spoken() const;  ///< the sound whose words are given away: the one chosen to be spoken, else the first that has words; null: none has
  std::string labels_name() const;
  void import_labels(const std::filesystem::path& file);
  void export_labels(const std::filesystem::path& file);
  void import_library(const std::filesystem::path& file);
  void export_library(const std::filesystem::path& file);
  show::ShowPtr arrives() const;
  const show::FacePose* follow_ghost(const Setpoints* setpoints);
  void handle_keys(const std::vector<KeyPress>& presses);

  Stage& stage_;
  Look look_;
  Journal journal_;
  Document document_;
  View view_;
  Panels panels_;
  Dialog dialog_ = Dialog::none, drawn_ = Dialog::none;
  Then then_ = Then::nothing;
  show::KeyBundle clipboard_;
  show::Findings notices_;
  DrawHead draw_head_;
  DrawFace draw_face_;
  perform::Report report_;  // a copy: the stage's own changes under any other call to it
  link::Status link_;
  std::optional<show::Finding> silent_because_;
  SetpointWorker setpoints_;
  std::optional<Workbench> bench_;
  std::shared_ptr<const show::Rig> told_rig_;  // by the stage, while the timeline is in sight
  perform::InputWatch inputs_;
  std::shared_ptr<const show::Rig> watched_;  // whose inputs those are
  HandsDesk hands_;
  live::NetworkStatus network_;
  live::FollowSettings::Source follows_ = live::FollowSettings::Source::none;
  live::CodeSent code_sent_;
  SpeechDesk speech_;
  std::shared_ptr<const speech::Alignment> say_from_;  // what a drag of an edge began with
  show::Findings rivals_;       // who else moves the mouth that speaks, as the notices were told
  show::ShowPtr rivals_for_;    // of that show
  bool speak_next_ = false;     // the sound that is being chosen is to be spoken
  struct Analysed { sound::WavePtr wave; std::shared_ptr<const speech::Spectrogram> spectrogram; };
  Job<Analysed> spectrum_job_;
  std::vector<Analysed> analysed_;
  std::vector<std::shared_ptr<const speech::Spectrogram>> spectra_;  // as sounds_
  Job<Arrived> arrive_job_;
  Arriving arriving_;
  show::ShowPtr arriving_for_;  // the show that arriving_.word and its rest are about
  struct LayerBaked { show::ShowPtr from; std::string layer; perform::BakedDown baked; };
  Job<LayerBaked> bake_job_;
  Baking baking_;
  show::ShowPtr performed_;     // what of the document the stage has
  KeysOf shown_of_;             // whose keys lanes and stage show
  struct BeforeClip { show::Range visible; show::Time playhead{0}; std::string control; };
  BeforeClip before_clip_;      // how the show was left for a clip
  std::vector<sound::Placed> placed_;
  show::ShowPtr told_;          // the show whose count of findings the journal has
  Ghost ghost_;
  show::FacePose ghost_face_;

  struct LoadedSounds { std::vector<sound::Placed> placed; std::vector<DrawnSound> drawn; show::Findings notes; };
  std::future<LoadedSounds> loading_;
  std::shared_ptr<std::atomic<bool>> unwanted_;        // tells the load under way that another show was opened
  std::vector<std::future<LoadedSounds>> given_up_;    // that are still on their way out
  std::vector<DrawnSound> sounds_;
  std::vector<show::Sound> sounds_of_;                 // which were asked for last

  store::Places places_;
  store::Settings settings_;
  Keys keys_;
  std::vector<std::filesystem::path> recent_;
  std::unique_ptr<store::Keeper> keeper_;
  std::vector<store::Left> left_;
  bool offered_ = false;
  Underneath under_;
  show::ShowPtr kept_;                                 // the step that follow_work() saw last, and its rig
  std::shared_ptr<const show::Rig> kept_rig_;
  int edits_ = 0;                                      // since the show was opened or saved

  // What of the above is one show's, while another one is in front. The tab in front is empty here.
  struct Tab {
    Document document;
    View view;
    KeysOf shown_of;
    BeforeClip before_clip;
    show::Time playhead{0};
    float scroll = 0;
    std::vector<sound::Placed> placed;
    std::vector<DrawnSound> sounds;
    std::vector<show::Sound> sounds_of;
    SpeechDesk::Memory speech;
    std::unique_ptr<store::Keeper> keeper;
    Underneath under;
    show::ShowPtr kept;
    std::shared_ptr<const show::Rig> kept_rig;
    int edits = 0;
    bool let_go = false;                               // quitting: its work is not to be saved
  };
  std::vector<Tab> tabs_;
  std::size_t front_ = 0;
  DesktopDialog desktop_dialog_;
  Dialog at_desktop_ = Dialog::none;                   // what it was asked
  bool as_desktop_ = false;
  std::future<std::optional<bool>> asking_desktop_;    // whether it is dark
  bool quit_ = false;
  struct Unseen { std::int64_t attended_ns = 0, rest_ns = 0; } unseen_;  // since there is no display: when it was last attended to, and when sent to rest
  std::array<perform::CuePhase, show::kMaxCues> cue_phases_{};
  std::int64_t day_told_ns_ = 0;
  int gamepads_ = 0;
  std::string last_state_;
};

}  // namespace mien::editor
