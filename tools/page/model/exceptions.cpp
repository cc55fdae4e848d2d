// Exceptions in WebAssembly: what clang's -fwasm-exceptions calls and a C++ library that was built
// without exceptions leaves out.
//
//   throw   an exception is a Thrown with the object behind it; its address travels with the
//           engine's tag __cpp_exception
//   catch   a landing pad hands its number, the exception's table of the function (LSDA) and the
//           exception to _Unwind_CallPersonality, which looks up which of the pad's clauses takes
//           the type; 0: none, only cleaning up is done
// The table: call sites, one for each pad, each with the first of a chain of actions; an action is
// the number of a type and the way to the next; types stand before the table's end, the first last.
// Whether a clause takes a type is asked of the library's own type information.
//
// Not here: pointers as exceptions, exception_ptr, more than one thread; nothing here throws them.
// Sources: Itanium C++ ABI, exception handling, level II; the tool conventions of WebAssembly's
// exception handling, from memory; the layout of type information as in LLVM's libc++abi.
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <exception>
#include <new>
#include <typeinfo>

namespace __cxxabiv1 {

// The head of the library's type information, its virtual functions in its order.
class __shim_type_info : public std::type_info {
 public:
  ~__shim_type_info() override;
  virtual void noop1() const;
  virtual void noop2() const;
  virtual bool can_catch(const __shim_type_info* thrown, void*& adjusted) const = 0;
};

}  // namespace __cxxabiv1

namespace {

using TypeInfo = __cxxabiv1::__shim_type_info;

using Destructor = void* (*)(void*);  // returns its argument, as all do in WebAssembly

struct alignas(16) Thrown {
  const TypeInfo* type;
  Destructor destroy;
  void* adjusted;  // the object as the clause that took it sees it
  Thrown* below;   // caught before and not yet done with
  int handlers;    // clauses that are at work on it
  bool rethrown;

  void* object() { return this + 1; }
};

Thrown* caught = nullptr;

Thrown* header_of(void* object) { return static_cast<Thrown*>(object) - 1; }

std::uint32_t read_unsigned(const std::uint8_t*& at) {
  std::uint32_t value = 0;
  for (unsigned shift = 0;; shift += 7) {
    const std::uint8_t byte = *at++;
    value |= static_cast<std::uint32_t>(byte & 0x7fU) << shift;
    if ((byte & 0x80U) == 0) return value;
  }
}

std::int32_t read_signed(const std::uint8_t*& at) {
  std::uint32_t value = 0;
  for (unsigned shift = 0;;) {
    const std::uint8_t byte = *at++;
    value |= static_cast<std::uint32_t>(byte & 0x7fU) << shift;
    shift += 7;
    if ((byte & 0x80U) != 0) continue;
    if ((byte & 0x40U) != 0 && shift < 32) value |= ~std::uint32_t{0} << shift;
    return static_cast<std::int32_t>(value);
  }
}

[[noreturn]] void raise(Thrown* thrown) { __builtin_wasm_throw(0, thrown); }

}  // namespace

extern "C" {

// Filled in by a landing pad before it asks, and with the answer: the layout is clang's.
struct {
  std::uintptr_t pad;
  const std::uint8_t* table;
  std::uintptr_t clause;
} __wasm_lpad_context;

int __gxx_wasm_personality_v0() { return 0; }

int _Unwind_CallPersonality(void* exception) {
  Thrown& thrown = *static_cast<Thrown*>(exception);
  constexpr std::uint8_t kOmitted = 0xff;
  const std::uint8_t* at = __wasm_lpad_context.table;
  __wasm_lpad_context.clause = 0;
  if (*at++ != kOmitted) std::abort();  // pads count from the function's begin
  const std::uint8_t* types = nullptr;
  if (*at++ != kOmitted) {
    const std::uint32_t way = read_unsigned(at);
    types = at + way;
  }
  ++at;  // how call sites are written: always as here
  const std::uint32_t sites = read_unsigned(at);
  const std::uint8_t* actions = at + sites;
  std::uint32_t action = 0;
  for (std::uintptr_t site = 0; site <= __wasm_lpad_context.pad; ++site) {
    read_unsigned(at);
    action = read_unsigned(at);
  }
  if (action == 0) return 0;
  at = actions + action - 1;
  for (;;) {
    const std::int32_t clause = read_signed(at);
    if (clause > 0) {
      const TypeInfo* type = reinterpret_cast<const TypeInfo* const*>(types)[-clause];
      void* adjusted = thrown.object();
      if (type == nullptr || type->can_catch(thrown.type, adjusted)) {
        thrown.adjusted = adjusted;
        __wasm_lpad_context.clause = static_cast<std::uintptr_t>(clause);
        return 0;
      }
    }
    const std::uint8_t* from = at;
    const std::int32_t way = read_signed(at);
    if (way == 0) return 0;
    at = from + way;
  }
}

void* __cxa_allocate_exception(std::size_t size) noexcept {
  void* room = std::calloc(1, sizeof(Thrown) + size);
  if (room == nullptr) std::abort();
  return static_cast<Thrown*>(room)->object();
}

void __cxa_free_exception(void* object) noexcept { std::free(header_of(object)); }

[[noreturn]] void __cxa_throw(void* object, std::type_info* type, Destructor destroy) {
  Thrown* thrown = header_of(object);
  thrown->type = static_cast<const TypeInfo*>(type);
  thrown->destroy = destroy;
  thrown->adjusted = object;
  raise(thrown);
}

void* __cxa_begin_catch(void* exception) noexcept {
  auto* thrown = static_cast<Thrown*>(exception);
  thrown->rethrown = false;
  if (thrown->handlers++ == 0) {
    thrown->below = caught;
    caught = thrown;
  }
  return thrown->adjusted;
}

void* __cxa_get_exception_ptr(void* exception) noexcept {
  return static_cast<Thrown*>(exception)->adjusted;
}

void __cxa_end_catch() {
  Thrown* thrown = caught;
  if (thrown == nullptr || --thrown->handlers > 0) return;
  caught = thrown->below;
  if (thrown->rethrown) return;  // whoever catches it next is done with it
  if (thrown->destroy != nullptr) thrown->destroy(thrown->object());
  std::free(thrown);
}

[[noreturn]] void __cxa_rethrow() {
  if (caught == nullptr) std::terminate();
  caught->rethrown = true;
  raise(caught);
}

}  // extern "C"

// The tag that exceptions travel with: one address. Older clangs define it in every object.
__asm__(
    ".tagtype __cpp_exception i32\n"
    ".weak __cpp_exception\n"
    "__cpp_exception:\n");

// Memory that is not there is an exception as everywhere else; the library's own would end it all.
void* operator new(std::size_t size) {
  void* room = std::malloc(size == 0 ? 1 : size);
  if (room == nullptr) throw std::bad_alloc();
  return room;
}
void operator delete(void* room) noexcept { std::free(room); }
void operator delete(void* room, std::size_t) noexcept { std::free(room); }
