"""The standing commands in Korean, and the words that are no answer.

Chosen as in English: what we teach first, no short word alone, no opposite that
sounds alike. So 예 and 네 ("yes"; 네 is also "four") are not here, nor 긍정 and 부정
(affirmative and negative), which share their end with each other and with 정정
("correction"). Every word is in the vocabulary of the public Korean model.
"""

from collections.abc import Mapping
from types import MappingProxyType

from voiceflow.phraseology.commands import CommandName

COMMANDS: Mapping[CommandName, tuple[str, ...]] = MappingProxyType(
    {
        CommandName.SAY_AGAIN: ("다시 말해 주세요", "다시 말해 줘", "다시 말해"),
        CommandName.STAND_BY: ("잠시 대기", "기다려 주세요"),
        CommandName.CONTINUE: ("계속 진행", "계속해 주세요", "계속해"),
        CommandName.CORRECTION: ("정정",),
        CommandName.DISREGARD: ("방금 것 무시", "무시해", "무시해 주세요"),
        CommandName.AFFIRM: ("그렇습니다", "맞음"),
        CommandName.NEGATIVE: ("아닙니다", "틀림"),
        CommandName.READ_BACK: ("복창", "기록 읽어 줘"),
        CommandName.UNABLE: ("수행 불가", "할 수 없습니다"),
        CommandName.SPEAK_SLOWER: ("천천히 말해 주세요", "천천히 말해 줘"),
        CommandName.ROGER: ("알았다", "수신 완료"),
        CommandName.WILCO: ("그렇게 하겠습니다", "이행 하겠습니다"),
        CommandName.LEAVE_FOR_LATER: ("나중에 하겠습니다", "나중에 하자"),
        CommandName.GO_BACK: ("이전 항목", "이전 항목으로 돌아가"),
        CommandName.GO_BACK_TWO: ("이전 두 항목", "이전 두 항목으로 돌아가"),
        CommandName.WHERE_ARE_WE: ("지금 어디", "어디까지 했습니까", "현재 위치"),
        CommandName.WHAT_IS_LEFT: ("남은 항목", "남은 것은 무엇"),
        CommandName.WHAT_WAS_FOUND: ("이상 목록", "지금까지 이상"),
        CommandName.HOW_LONG: ("경과 시간", "시간 얼마나"),
        CommandName.WHAT_CAN_I_SAY: ("무슨 말을 할 수 있습니까", "도움말"),
        CommandName.NOTE: ("메모 시작", "메모 남기기"),
        CommandName.ABANDON: ("점검 중단", "점검 포기"),
    }
)

#: Sounds before an answer that mean nothing.
HESITATIONS: tuple[str, ...] = ("음", "어", "그")

#: Sound like an answer and state no setting: set, checked, as required, done.
EMPTY_RESPONSES: tuple[str, ...] = (
    "설정",
    "설정 완료",
    "확인",
    "확인 완료",
    "점검 완료",
    "필요 시",
    "완료",
)
