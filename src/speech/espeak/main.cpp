// mien_espeak VOICE WORDS_PER_MINUTE: speaks the text on its standard input, in a process of its own, and says when each sound begins.
//
// This small program links espeak-ng, which is under GPL-3; so is what is built of this file. Mien itself runs it and reads what it prints:
//   rate 22050
//   phone SAMPLE NAME     for each, NAME in the International Phonetic Alphabet; a pause has the name "_"
//   word SAMPLE BYTE LENGTH   the characters of the text, counted from 1
//   samples COUNT
// and then COUNT samples of 16 bits, little-endian. Exit code 1: no such voice; 2: espeak-ng did not start.
#include <espeak-ng/speak_lib.h>

#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <string>
#include <vector>

namespace {

std::vector<short> samples;
std::string events_text;

int on_sound(short* wave, int count, espeak_EVENT* events) {
  if (wave && count > 0) samples.insert(samples.end(), wave, wave + count);
  for (; events->type != espeakEVENT_LIST_TERMINATED; ++events) {
    if (events->type == espeakEVENT_PHONEME) {
      const std::string name(events->id.string, ::strnlen(events->id.string, sizeof events->id.string));
      events_text += "phone " + std::to_string(events->sample) + ' ' + (name.empty() ? "_" : name) + '\n';
    }
    if (events->type == espeakEVENT_WORD) events_text += "word " + std::to_string(events->sample) + ' ' + std::to_string(events->text_position) + ' ' + std::to_string(events->length) + '\n';
  }
  return 0;
}

// By the voice's own name, else by language: the nearest that espeak-ng has, as long as it is that language.
bool choose(const char* voice) {
  if (espeak_SetVoiceByName(voice) == EE_OK) return true;
  espeak_VOICE wanted{};
  wanted.languages = voice;
  if (espeak_SetVoiceByProperties(&wanted) != EE_OK) return false;
  const espeak_VOICE* chosen = espeak_GetCurrentVoice();
  return chosen && chosen->languages && std::strncmp(chosen->languages + 1, voice, std::strcspn(voice, "-+")) == 0;  // the first byte is a priority
}

}  // namespace

int main(int count, char** words) {
  if (count != 3) return std::fprintf(stderr, "mien_espeak VOICE WORDS_PER_MINUTE < TEXT\n"), 2;
  std::string text;
  for (int c; (c = std::getchar()) != EOF;) text += static_cast<char>(c);
  const int rate = espeak_Initialize(AUDIO_OUTPUT_SYNCHRONOUS, 0, nullptr, espeakINITIALIZE_PHONEME_EVENTS | espeakINITIALIZE_PHONEME_IPA | espeakINITIALIZE_DONT_EXIT);
  if (rate <= 0) return 2;
  espeak_SetSynthCallback(on_sound);
  if (!choose(words[1])) return 1;
  espeak_SetParameter(espeakRATE, std::atoi(words[2]), 0);
  espeak_Synth(text.c_str(), text.size() + 1, 0, POS_CHARACTER, 0, espeakCHARS_UTF8, nullptr, nullptr);
  espeak_Synchronize();
  std::printf("rate %d\n%ssamples %zu\n", rate, events_text.c_str(), samples.size());
  std::fwrite(samples.data(), sizeof(short), samples.size(), stdout);
  return 0;
}
