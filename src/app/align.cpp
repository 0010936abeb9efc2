// mien align: when each word and phone of a text is heard.
#include <cstdio>
#include <ctime>

#include "app/commands.hpp"
#include "app/speech.hpp"
#include "app/text.hpp"
#include "show/text.hpp"
#include "speech/labels.hpp"
#include "store/disk.hpp"

namespace mien::app {

int run_align(const AlignWords& words) {
  const auto form = speech::label_form(words.out);
  if (!form) return tell({show::Severity::error, words.out, "", "its name doesn't say which labels to write", "End it in " + std::string(speech::kLabelForms) + "."});
  const std::clock_t begun = std::clock();
  show::Findings notes;
  const auto recording = recording_from(words.audio, notes);
  if (!recording) return tell(notes), std::max<int>(kUnusable, tell(recording.problem()));
  const auto alignment = alignment_from(*recording, words.audio, words.text, words.language, notes);
  tell(notes);
  if (!alignment) return std::max<int>(kUnusable, tell(alignment.problem()));
  if (const auto problem = store::replace_file(words.out, speech::write_labels(*alignment, *form, words.words))) return tell(*problem);
  const double spent_s = static_cast<double>(std::clock() - begun) / CLOCKS_PER_SEC, length_s = show::to_seconds(recording->length());
  const double factor = length_s > 0 ? spent_s / length_s : 0;
  if (words.json) {
    Json json;
    json.open_object().member("file", words.out).member("length_s", length_s).member("real_time_factor", factor).member("score_per_frame", alignment->score_per_frame).open_array("words");
    for (const auto& word : alignment->words)
      json.open_object().member("word", word.text).member("begin_s", show::to_seconds(word.range.begin)).member("end_s", show::to_seconds(word.range.end)).member("confidence", word.confidence)
          .member("known", word.origin == speech::Origin::dictionary || word.origin == speech::Origin::given).close();
    std::printf("%s\n", json.close().close().text().c_str());
  } else {
    std::printf("%s: %zu words, %zu phones in %.1f s of sound; %.3f s of processor time a second of it\n", words.out.c_str(), alignment->words.size(), alignment->phones.size(), length_s, factor);
  }
  for (const auto& note : notes)
    if (note.severity == show::Severity::warning) return kFindings;
  return kFine;
}

}  // namespace mien::app
